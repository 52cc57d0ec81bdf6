import type { Failure } from "../../../../shared/messages.ts";
import { CranksideError, messageOf } from "../../../../shared/errors.ts";

/** A one-line error taken apart for reading: what happened, what was expected and found, what to do. */
export interface FailureParts {
  readonly summary: string;
  readonly expected: string | null;
  readonly found: string | null;
  readonly where: string | null;
  readonly advice: string | null;
}

/** The reverse of how CranksideError writes its line; what does not fit stays in the summary whole. */
export function failureParts(message: string): FailureParts {
  const match =
    /^(?<summary>.*?)(?:; expected (?<expected>.*?))?(?:; found (?<found>.*?))?(?:; at (?<where>.*?))?(?:\. (?<advice>[A-Z].*))?$/su.exec(
      message,
    );
  const part = (name: string): string | null => match?.groups?.[name] ?? null;
  return {
    summary: part("summary") ?? message,
    expected: part("expected"),
    found: part("found"),
    where: part("where"),
    advice: part("advice"),
  };
}

/** The program was away, or the file still belongs to one that ended badly: the same may work a little later. */
export function mayPass(failure: Failure): boolean {
  return failure.code === "link-closed" || failure.code === "out-of-order" || failure.code === "too-much";
}

export function failureOf(error: unknown): Failure {
  return { code: error instanceof CranksideError ? error.code : "server-failed", message: messageOf(error) };
}
