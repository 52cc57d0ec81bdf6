/**
 * What an ELM-compatible adapter says that is not data. The words are the de facto set of such adapters, from
 * memory; nothing in the program compares them as text anywhere else.
 */
export type StatusKind =
  /** Goes along with a good answer. */
  | "info"
  /** The vehicle said nothing, or nothing that was understood. */
  | "no-answer"
  /** The bus or its wiring is at fault. */
  | "bus"
  /** The adapter or the talk with it is at fault. */
  | "adapter"
  /** The adapter began anew: all its settings are gone. */
  | "reset"
  /** The adapter does not know the command. */
  | "refused";

export interface StatusWord {
  readonly word: string;
  readonly kind: StatusKind;
  /** In words for a person beside the vehicle. */
  readonly meaning: string;
  /** Also recognised behind other text on the same line: the adapter was interrupted there. */
  readonly cutsIn?: true;
}

export const statusWords = [
  { word: "OK", kind: "info", meaning: "The adapter accepted the command." },
  { word: "SEARCHING...", kind: "info", meaning: "The adapter tries the protocols one after another." },
  { word: "BUS INIT: ...", kind: "info", meaning: "The adapter wakes the bus up." },
  { word: "BUS INIT: ...OK", kind: "info", meaning: "The bus is awake and its module answered." },
  {
    word: "BUS INIT: ...ERROR",
    kind: "no-answer",
    cutsIn: true,
    meaning: "No module answered the start sequence: key off, no supply at a module, or not this protocol.",
  },
  {
    word: "NO DATA",
    kind: "no-answer",
    cutsIn: true,
    meaning:
      "No answer came in time: not supported, module asleep, or its supply dipped. No proof of a dead module.",
  },
  {
    word: "UNABLE TO CONNECT",
    kind: "no-answer",
    cutsIn: true,
    meaning: "No protocol was found: key off, no supply at the socket's modules, or a broken line to them.",
  },
  {
    word: "STOPPED",
    kind: "adapter",
    cutsIn: true,
    meaning: "The adapter was interrupted by a character that came before it was ready.",
  },
  { word: "?", kind: "refused", meaning: "The adapter does not know this command." },
  {
    word: "BUS ERROR",
    kind: "bus",
    cutsIn: true,
    meaning: "The bus lines did not behave: wiring, a short, or the wrong protocol.",
  },
  {
    word: "CAN ERROR",
    kind: "bus",
    cutsIn: true,
    meaning: "No module on the CAN bus acknowledged: wrong rate, broken line, or all modules off.",
  },
  { word: "DATA ERROR", kind: "bus", cutsIn: true, meaning: "A reply came in a form that does not hold." },
  {
    word: "RX ERROR",
    kind: "bus",
    cutsIn: true,
    meaning: "A reply was damaged while it was received.",
  },
  {
    word: "FB ERROR",
    kind: "bus",
    cutsIn: true,
    meaning: "What the adapter sent did not read back: a short on the bus line, or the adapter's own driver.",
  },
  {
    word: "BUS BUSY",
    kind: "bus",
    cutsIn: true,
    meaning: "The bus was never free to send on: another tester, or a disturbed line.",
  },
  {
    word: "BUFFER FULL",
    kind: "adapter",
    cutsIn: true,
    meaning: "The reply came faster than the serial line carries it; the rest was dropped.",
  },
  {
    word: "ACT ALERT",
    kind: "info",
    cutsIn: true,
    meaning: "Nothing was asked for long: the adapter goes to sleep soon.",
  },
  { word: "LP ALERT", kind: "info", cutsIn: true, meaning: "The adapter goes to low power in two seconds." },
  {
    word: "FC RX TIMEOUT",
    kind: "bus",
    cutsIn: true,
    meaning: "A module did not let a request of several frames go on (ISO 15765-2, flow control).",
  },
  {
    word: "OUT OF MEMORY",
    kind: "adapter",
    cutsIn: true,
    meaning: "The adapter has no room for the reply; it is not whole.",
  },
  {
    word: "VENDOR OPTION",
    kind: "adapter",
    cutsIn: true,
    meaning: "The adapter says this in place of an answer; only its vendor knows why.",
  },
  {
    word: "LV RESET",
    kind: "reset",
    cutsIn: true,
    meaning:
      "The supply at the socket fell too low and the adapter restarted: evidence of a voltage collapse.",
  },
  {
    word: "ERR94",
    kind: "reset",
    cutsIn: true,
    meaning: "The adapter's CAN part failed and restarted; settings may be at default.",
  },
  {
    word: "ERRnn",
    kind: "adapter",
    meaning: "The adapter reports an internal fault by its number.",
  },
  {
    word: "IDENTITY",
    kind: "reset",
    cutsIn: true,
    meaning:
      "The adapter introduces itself: after a reset, asked for or not. All its settings are at default.",
  },
] as const satisfies readonly StatusWord[];

export type StatusWordText = (typeof statusWords)[number]["word"];

/** Ends a data line that the adapter itself found damaged. */
const damageMark = /<\s*(DATA|RX)\s*ERROR\s*$/i;

/** What an adapter of this class says of itself after a reset. Clones keep the letters and invent the rest. */
const identity = /ELM\s?3\d\d/;

const byKey: ReadonlyMap<string, StatusWord> = new Map(statusWords.map((row) => [keyOf(row.word), row]));
const cuttingIn: readonly (readonly [key: string, row: StatusWord])[] = statusWords.flatMap(
  (row: StatusWord) => (row.cutsIn === true ? [[keyOf(row.word), row] as const] : []),
);

/** A refusal that stands behind its own command on one line: the echo's return was lost. */
const refusedEcho = /^(?:AT[A-Z@][A-Z0-9]*|(?:0[1-9A]|14|19|2[12])[0-9A-F]*)\?$/;

/** Case, spaces, dots and a leading exclamation mark differ between adapters and say nothing. */
function keyOf(text: string): string {
  return text
    .toUpperCase()
    .replace(/[\s.\0]+/g, "")
    .replace(/^!/, "");
}

export function statusWord(word: StatusWordText): StatusWord {
  const row = statusWords.find((candidate) => candidate.word === word);
  if (row === undefined) throw new RangeError(`no status word ${word}`);
  return row;
}

/** The status word that a line is, or that cut in at its end; null for data and for text that is none. */
export function statusWordOf(line: string): StatusWord | null {
  // Every word has a letter or a sign that no data has.
  if (/^[0-9A-F\s]*$/i.test(line)) return null;
  const key = keyOf(line);
  if (key === "" || damageMark.test(line)) return null;
  const whole = byKey.get(key);
  if (whole !== undefined) return whole;
  if (/^ERR\d\d$/.test(key)) return statusWord("ERRnn");
  if (identity.test(key)) return statusWord("IDENTITY");
  if (refusedEcho.test(key)) return statusWord("?");
  const cut = cuttingIn.find(([wordKey]) => key.endsWith(wordKey) || goesBefore(wordKey, key));
  return cut === undefined ? null : cut[1];
}

/** The word, and digits right behind it: the return between them was lost. */
function goesBefore(wordKey: string, key: string): boolean {
  return key.startsWith(wordKey) && /^[0-9A-F]{2,}$/.test(key.slice(wordKey.length));
}

/** True when the adapter marked this data line as damaged: `48 6B 10 41 <DATA ERROR`. */
export function isMarkedDamaged(line: string): boolean {
  return damageMark.test(line);
}
