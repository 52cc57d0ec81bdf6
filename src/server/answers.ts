/** Answers over HTTP that are JSON, and bodies that may not be too long. */
import type { IncomingMessage, ServerResponse } from "node:http";
import { CranksideError, type ErrorCode } from "../../shared/errors.ts";
import { failureOf } from "./failure.ts";

export function answerJson(response: ServerResponse, value: unknown): void {
  response.writeHead(200, { "content-type": "application/json; charset=utf-8", "cache-control": "no-store" });
  response.end(JSON.stringify(value));
}

export function sendFailure(
  response: ServerResponse,
  status: number,
  failure: { readonly code: string; readonly message: string },
): void {
  response.writeHead(status, {
    "content-type": "application/json; charset=utf-8",
    "cache-control": "no-store",
    connection: "close",
  });
  response.end(JSON.stringify(failure));
}

/** Only the page on this machine may: what it does, in words. */
export function forbid(response: ServerResponse, does: string): void {
  sendFailure(response, 403, { code: "wrong-use", message: `only the page on this machine ${does}` });
}

/** What was thrown is the answer, with its code; an answer that has begun is broken off. */
export function answerError(response: ServerResponse, error: unknown): void {
  if (response.headersSent) response.destroy();
  else sendFailure(response, statusOf(error), failureOf(error));
}

const statuses: Partial<Record<ErrorCode, number>> = {
  "job-missing": 404,
  "file-missing": 404,
  "message-invalid": 400,
  "job-invalid": 400,
  "photo-invalid": 400,
  "bundle-invalid": 400,
  "bundle-unsafe": 400,
  "bundle-altered": 400,
  "not-a-recording": 400,
  "csv-columns": 400,
  "csv-values": 400,
  "map-invalid": 400,
  "newer-format": 400,
  "normal-invalid": 400,
  "too-much": 413,
  "wrong-use": 409,
  "file-exists": 409,
};

function statusOf(error: unknown): number {
  return error instanceof CranksideError ? (statuses[error.code] ?? 500) : 500;
}

/** The body piece by piece; beyond so many bytes it is not read to its end. */
export async function* counted(
  request: IncomingMessage,
  most: number,
  code: ErrorCode,
): AsyncGenerator<Buffer> {
  let bytes = 0;
  const tooLong = (): CranksideError =>
    new CranksideError(code, "too much was sent", { expected: `at most ${most} bytes` });
  if (Number(request.headers["content-length"] ?? 0) > most) throw tooLong();
  for await (const piece of request as AsyncIterable<Buffer>) {
    bytes += piece.length;
    if (bytes > most) throw tooLong();
    yield piece;
  }
}
