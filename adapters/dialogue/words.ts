/** What status words mean for one exchange. The words themselves stand in shared/statusWords.ts. */
import { statusWordOf } from "../../shared/statusWords.ts";

/** What was asked and said, of a finished exchange. */
interface Said {
  readonly ask: string;
  readonly answer: readonly string[];
  /** Null where no prompt came. */
  readonly end: number | null;
}

/** An adapter that introduces itself without having been asked: it began anew. Recorded as this word. */
export const unaskedIdentity = "reset";

/** Commands that are rightly answered with the adapter's name; the rate command is another. */
const asksForIdentity: ReadonlySet<string> = new Set(["ATZ", "ATWS", "ATI"]);

export function mayNameItself(ask: string): boolean {
  return asksForIdentity.has(ask) || ask.startsWith("ATBRD");
}

/** The adapter works on the bus and will say more. */
export function isWorking(line: string): boolean {
  if (line === "") return false;
  const word = statusWordOf(line)?.word;
  return word === "SEARCHING..." || word === "BUS INIT: ...";
}

/** The word that tells why an answer is not, or not only, data: a reset before anything else; null when all is well. */
export function errorWord(ask: string, answer: readonly string[]): string | null {
  let found: string | null = null;
  for (const line of answer) {
    const status = statusWordOf(line);
    if (status === null || status.kind === "info") continue;
    if (status.word === "IDENTITY") {
      if (!mayNameItself(ask)) return unaskedIdentity;
      continue;
    }
    if (status.kind === "reset") return status.word;
    found ??= status.word === "ERRnn" ? line.trim() : status.word;
  }
  return found;
}

/** True for an adapter that has lost its settings. */
export function isReset(err: string | undefined): boolean {
  return err === unaskedIdentity || err === "LV RESET" || err === "ERR94";
}

/** The adapter's name on a line, without what is unreadable around it: some put a byte of noise before it on waking. */
export function nameOn(line: string): string | null {
  return statusWordOf(line)?.word === "IDENTITY" ? line.replace(/^[^!-~]+|[^!-~]+$/g, "") : null;
}

/**
 * What stands behind the command on the line of its echo, where the return between them was lost: of a request only a word
 * of the adapter, of a command to the adapter whatever it is. Null for any other line.
 */
export function behindEcho(ask: string, line: string): string | null {
  if (ask === "" || !line.toUpperCase().startsWith(ask)) return null;
  const rest = line.slice(ask.length).trim();
  if (rest === "") return null;
  return ask.startsWith("AT") || statusWordOf(rest) !== null ? rest : null;
}

/** The answer to an earlier command, as it is recorded where it can be known. */
export const lateAnswer = "late";

/** Commands with an answer that no other one has: where it comes, everything before it is through. */
export const probes = ["ATDPN", "ATI"] as const;

/** Its own answer, or the refusal of an adapter that does not know it. */
export function answersProbe({ ask, answer, end }: Said): boolean {
  const [said = ""] = answer;
  if (end === null || answer.length !== 1) return false;
  if (said.trim() === "?") return true;
  return ask === "ATI" ? statusWordOf(said)?.word === "IDENTITY" : /^A?[0-9A-F]$/.test(said.trim());
}

/** What an adapter says by itself while all is well; or nothing but line ends. */
export function isNotice(text: string): boolean {
  return text.split(/[\r\n]+/).every((line) => line.trim() === "" || statusWordOf(line)?.kind === "info");
}

/** True when the answer must belong to another command: a voltage to a request, or a module's data to a setting. */
export function answersOther({ ask, answer }: Pick<Said, "ask" | "answer">): boolean {
  const lines = answer.map((line) => line.replace(/\s/g, ""));
  const isVolts = lines.length === 1 && /^\d{1,2}\.\d{1,2}V?$/i.test(lines[0] ?? "");
  const isOkay = lines.length === 1 && lines[0] === "OK";
  if (!ask.startsWith("AT")) return isVolts || isOkay;
  if (lines.some((line) => /^[0-9A-F]{6,}$/i.test(line) || statusWordOf(line)?.kind === "no-answer"))
    return true;
  if (ask === "ATDPN") return isOkay || isVolts;
  return ask === "ATRV" ? isOkay : isVolts && !mayNameItself(ask);
}

/** A modem says OK too; only an adapter of this class follows it with a prompt. */
export function isOk({ end, answer }: Pick<Said, "end" | "answer">): boolean {
  return end !== null && answer.some((line) => line.trim() === "OK");
}

export function refused({ answer }: Pick<Said, "answer">): boolean {
  return answer.some((line) => line.trim() === "?");
}
