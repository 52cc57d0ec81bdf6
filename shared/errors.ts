/** Every code an error of ours may carry. DEVELOPERS.md has a line for each; a test compares the two lists. */
export const errorCodes = [
  "wrong-use",
  "wrong-address",
  "port-missing",
  "port-busy",
  "port-refused",
  "link-failed",
  "link-closed",
  "no-adapter",
  "adapter-silent",
  "adapter-garbled",
  "no-vehicle",
  "request-refused",
  "clear-refused",
  "link-held",
  "role-refused",
  "too-much",
  "not-a-recording",
  "newer-format",
  "file-missing",
  "file-unreadable",
  "file-unwritable",
  "file-exists",
  "csv-columns",
  "csv-values",
  "map-invalid",
  "facts-invalid",
  "normal-invalid",
  "cases-invalid",
  "case-invalid",
  "reads-invalid",
  "job-missing",
  "job-invalid",
  "photo-invalid",
  "bundle-invalid",
  "bundle-unsafe",
  "bundle-altered",
  "message-invalid",
  "bench-unknown",
  "server-failed",
  "out-of-order",
  "clock-stuck",
] as const;

export type ErrorCode = (typeof errorCodes)[number];

/** What was expected, what was found, and where; each is optional, shown in that order. */
export interface ErrorContext {
  readonly expected?: string;
  readonly found?: string;
  readonly where?: string;
  /** What the person can do about it. */
  readonly advice?: string;
}

/** The one error class of the project. Tests assert on `code`, never on the text. */
export class CranksideError extends Error {
  readonly code: ErrorCode;
  readonly context: ErrorContext;

  constructor(code: ErrorCode, summary: string, context: ErrorContext = {}, cause?: unknown) {
    super(oneLine(summary, context), cause === undefined ? undefined : { cause });
    this.name = "CranksideError";
    this.code = code;
    this.context = context;
  }
}

function oneLine(summary: string, context: ErrorContext): string {
  const parts = [summary];
  if (context.expected !== undefined) parts.push(`expected ${context.expected}`);
  if (context.found !== undefined) parts.push(`found ${context.found}`);
  if (context.where !== undefined) parts.push(`at ${context.where}`);
  const text = parts.join("; ");
  return (context.advice === undefined ? text : `${text}. ${context.advice}`).replace(/\s*[\r\n]+\s*/g, " ");
}

export function isCranksideError(error: unknown, code?: ErrorCode): error is CranksideError {
  return error instanceof CranksideError && (code === undefined || error.code === code);
}

/** The message of anything that was thrown. */
export function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
