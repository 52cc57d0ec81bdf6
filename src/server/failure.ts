import { isCranksideError, messageOf } from "../../shared/errors.ts";
import type { Failure } from "../../shared/messages.ts";

/** What a page is told of anything that was thrown. */
export function failureOf(error: unknown): Failure {
  return { code: isCranksideError(error) ? error.code : "server-failed", message: messageOf(error) };
}
