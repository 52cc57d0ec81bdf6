/** What status words mean for one exchange. The words themselves stand in shared/statusWords.ts. */
import { statusWordOf } from "../../shared/statusWords.ts";
import type { Exchange } from "./machine.ts";

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
  return err === unaskedIdentity || err === "LV RESET";
}

/** A modem says OK too; only an adapter of this class follows it with a prompt. */
export function isOk({ end, answer }: Pick<Exchange, "end" | "answer">): boolean {
  return end !== null && answer.some((line) => line.trim() === "OK");
}

export function refused({ answer }: Pick<Exchange, "answer">): boolean {
  return answer.some((line) => line.trim() === "?");
}
