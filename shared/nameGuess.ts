/** Which channel a name from elsewhere means: by words, whatever their order, spelling of shortenings and position. */
import { channelInfo, channels } from "./decode.ts";
import { idleWords, shortWords, tradeNames } from "./tables/tradeNames.ts";

export interface NameGuess {
  readonly channel: string | null;
  /** `sure`: the name is one of the table's. `likely`: near to one, or a bank or sensor was not said. */
  readonly how: "sure" | "likely" | "none";
  /** Channels with names that are near, the nearest first; without the one that was guessed. */
  readonly nearest: readonly string[];
}

interface Named {
  readonly words: readonly string[];
  readonly bank: string | null;
  readonly sensor: string | null;
  readonly letter: string | null;
}

/** A text that was encoded twice (UTF-8 read as a Western code page and encoded again) as it was meant. */
export function mended(text: string): string {
  if (!/[\u00c2-\u00f4][\u0080-\u00ff\u20ac\u201a-\u2122]/.test(text)) return text;
  const bytes: number[] = [];
  for (const char of text) {
    const code = char.codePointAt(0) ?? 0;
    const byte = code < 0x100 ? code : (western.get(char) ?? -1);
    if (byte < 0) return text;
    bytes.push(byte);
  }
  try {
    return decodeURIComponent(bytes.map((byte) => `%${byte.toString(16).padStart(2, "0")}`).join(""));
  } catch {
    // It only looked so: it was encoded once.
    return text;
  }
}

/** Characters of the code page windows-1252 that lie elsewhere in Unicode (its public mapping table). */
const western: ReadonlyMap<string, number> = new Map(
  Array.from("€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ", (char, i) => [char, 0x80 + i]),
);

/** A column's name without its unit in brackets, and that unit. `Speed [km/h]`, `Speed (km/h)`, `Speed, km/h`. */
export function nameAndUnit(name: string): { readonly name: string; readonly unit: string } {
  const text = mended(name).trim();
  const found =
    /^(.*\S)\s*[[({<]([^\])}>]*)[\])}>]\s*$/.exec(text) ?? /^(.*\S)\s*,\s*([^\s,]{1,10})$/.exec(text);
  if (found === null) return { name: text, unit: "" };
  return { name: found[1] ?? "", unit: (found[2] ?? "").trim() };
}

/** Bank and sensor as they are written; the first that is found is taken out of the name. */
const positions: readonly RegExp[] = [
  /\b(?:bank|bnk|bk|b) ?(?<bank>[1-4]) ?(?:sensor|sens|s) ?(?<sensor>[1-4])\b/,
  /\bo2b(?<bank>[1-4])s(?<sensor>[1-4])\b/,
  /\b(?:bank|bnk|bk|b) ?(?<bank>[1-4])\b/,
  /\b(?:sensor|sens|s) ?(?<sensor>[1-4])\b/,
];

function named(text: string): Named {
  let plain = text
    .replace(/([a-z])([A-Z])/g, "$1 $2")
    .toLowerCase()
    .replace(/^0x?1?[0-9a-f]{2}\b[\s:_-]+/, "")
    .replace(/[^a-z0-9µλ°]+/g, " ")
    .replace(/λ/g, "lambda");
  const place: { bank: string | null; sensor: string | null } = { bank: null, sensor: null };
  for (const pattern of positions) {
    const found = pattern.exec(plain);
    const { bank, sensor } = found?.groups ?? {};
    if (found === null || (bank !== undefined && place.bank !== null)) continue;
    if (sensor !== undefined && place.sensor !== null) continue;
    place.bank ??= bank ?? null;
    place.sensor ??= sensor ?? null;
    plain = plain.replace(found[0], found[0].startsWith("o2") ? " oxygen " : " ");
  }
  const words: string[] = [];
  let letter: string | null = null;
  for (const raw of plain.split(" ").flatMap(splitDigits)) {
    if (raw === "") continue;
    if (/^[a-g]$/.test(raw)) letter = raw;
    else if (/^[1-4]$/.test(raw) && place.bank === null) place.bank = raw;
    else {
      const word = shortWords[raw] ?? raw;
      if (!idleWords.has(word) && !words.includes(word)) words.push(word);
    }
  }
  return { words, ...place, letter };
}

/** `stft1` is `stft` and `1`; `o2` stays. */
function splitDigits(word: string): string[] {
  if (/^h?o2s?$/.test(word)) return [word];
  const found = /^([a-z]{2,})([1-4])([1-4])?$/.exec(word);
  return found === null ? [word] : [found[1] ?? "", found[2] ?? "", found[3] ?? ""];
}

interface Entry {
  readonly channel: string;
  readonly words: readonly string[];
}

const keyOf = (words: readonly string[]): string => [...words].sort().join(" ");

const entries: readonly Entry[] = (() => {
  const rows = tradeNames.flatMap(({ channel, standard, names }) =>
    [...names, ...standard].map((name) => ({
      channel,
      words: named(name.replace(/B?\{b\}(?:S?\{s\})?|_?\{x\}/g, " ")).words,
    })),
  );
  const fixed = new Set(rows.map(({ channel }) => channel));
  const own = channels
    .filter(({ channel }) => !fixed.has(channel) && !patterned(channel))
    .map(({ channel, name }) => ({ channel, words: [...named(name).words, ...positionWords(name)] }));
  return [...rows, ...own].filter(({ words }) => words.length > 0);
})();

/** A channel that one of the table's patterns makes. */
function patterned(channel: string): boolean {
  return tradeNames.some(({ channel: pattern }) =>
    new RegExp(`^${pattern.replace(/\{b\}|\{s\}/g, "[1-4]").replace("{x}", "[b-f]")}$`).test(channel),
  );
}

function positionWords(name: string): string[] {
  const { bank, sensor, letter } = named(name);
  return [bank, sensor, letter].filter((word) => word !== null);
}

const vocabulary: ReadonlySet<string> = new Set(entries.flatMap(({ words }) => words));
const byKey: ReadonlyMap<string, readonly string[]> = (() => {
  const map = new Map<string, string[]>();
  for (const { channel, words } of entries) {
    const key = keyOf(words);
    const found = map.get(key) ?? [];
    if (!found.includes(channel)) map.set(key, [...found, channel]);
  }
  return map;
})();

/** The pattern with what was said of bank, sensor and letter; null where there is no such channel. */
function filled(pattern: string, { bank, sensor, letter }: Named): { channel: string; said: boolean } | null {
  if (pattern.includes("{x}")) {
    const channel = pattern.replace("{x}", letter ?? "");
    return letter !== null && channelInfo(channel) !== undefined ? { channel, said: true } : null;
  }
  // Of a sensor "12" is bank 1, sensor 2.
  const channel = pattern.replace("{b}", bank ?? "1").replace("{s}", sensor ?? "1");
  if (channelInfo(channel) === undefined) return null;
  const said = (!pattern.includes("{b}") || bank !== null) && (!pattern.includes("{s}") || sensor !== null);
  return { channel, said };
}

/** Names that the program itself uses, in small letters. */
const ownNames: ReadonlyMap<string, string> = new Map(
  [...channels].reverse().map(({ channel, name }) => [name.toLowerCase(), channel] as const),
);

/** What this name means, by itself: values and units are looked at elsewhere. Never throws. */
export function guessChannel(name: string): NameGuess {
  if (channelInfo(name.trim()) !== undefined) return { channel: name.trim(), how: "sure", nearest: [] };
  const plain = mended(name);
  const own = ownNames.get(plain.trim().toLowerCase());
  if (own !== undefined) return { channel: own, how: "sure", nearest: [] };
  const whole = named(twoDigits(plain));
  const near = nearestEntries(whole);
  const others = (channel: string | null): string[] => near.filter((c) => c !== channel).slice(0, 3);
  for (const [one, how] of [
    [whole, "sure"],
    [{ ...whole, words: whole.words.map(spelled) }, "likely"],
  ] as const) {
    const patterns = byKey.get(keyOf(one.words)) ?? [];
    const lettered = patterns.filter((pattern) => pattern.includes("{x}"));
    // With a letter the one that has letters is meant.
    const [found, another] = [...lettered, ...patterns.filter((pattern) => !lettered.includes(pattern))]
      .map((pattern) => filled(pattern, one))
      .filter((each) => each !== null);
    if (found !== undefined) {
      const clear = found.said && (another === undefined || one.letter !== null);
      return { channel: found.channel, how: clear ? how : "likely", nearest: others(found.channel) };
    }
  }
  const [best, second] = scored(whole);
  if (best !== undefined && best.score >= 0.8 && best.score > (second?.score ?? 0) + 0.05)
    return { channel: best.channel, how: "likely", nearest: others(best.channel) };
  return { channel: null, how: "none", nearest: others(null) };
}

/** `O2S12`, `CATEMP21`: bank and sensor in two digits. */
function twoDigits(name: string): string {
  return name.replace(/\b(O2S|CATEMP|LAMBDA|EQ_RAT|O2)_?([1-4])([1-4])\b/i, "$1 b$2s$3");
}

/** A word with one slip in it as it is meant, where that can be one word only. */
function spelled(word: string): string {
  if (word.length < 4 || vocabulary.has(word)) return word;
  const near = [...vocabulary].filter((known) => known.length >= 4 && oneSlip(word, known));
  return near.length === 1 ? (near[0] ?? word) : word;
}

/** One letter other, more or less. */
export function oneSlip(a: string, b: string): boolean {
  if (Math.abs(a.length - b.length) > 1 || a === b) return a === b;
  let from = 0;
  while (from < a.length && a[from] === b[from]) from += 1;
  const [restA, restB] = [a.slice(from), b.slice(from)];
  return restA.slice(1) === restB.slice(1) || restA.slice(1) === restB || restA === restB.slice(1);
}

function scored(one: Named): { channel: string; score: number }[] {
  const words = one.words.map(spelled);
  const best = new Map<string, number>();
  for (const { channel: pattern, words: known } of entries) {
    const shared = words.filter((word) => known.includes(word)).length;
    if (shared === 0) continue;
    const channel = filled(pattern, one)?.channel;
    if (channel === undefined) continue;
    const score = (2 * shared) / (words.length + known.length);
    best.set(channel, Math.max(best.get(channel) ?? 0, score));
  }
  return [...best].map(([channel, score]) => ({ channel, score })).sort((a, b) => b.score - a.score);
}

function nearestEntries(one: Named): string[] {
  return scored(one)
    .slice(0, 4)
    .map(({ channel }) => channel);
}

/** The channels that a wrong name may mean, the nearest first, at most three; the name of a channel with a slip too. */
export function nearestChannels(name: string): readonly string[] {
  const { channel, nearest } = guessChannel(name);
  const slips = channels.filter((c) => oneSlip(c.channel, name.trim().toLowerCase())).map((c) => c.channel);
  return [...new Set([...slips, ...(channel === null ? [] : [channel]), ...nearest])].slice(0, 3);
}
