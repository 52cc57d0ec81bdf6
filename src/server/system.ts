/** The system refused something: ENOENT, EACCES and the like. */
export function isSystemError(error: unknown, code?: string): boolean {
  if (!(error instanceof Error) || !("code" in error) || typeof error.code !== "string") return false;
  return code === undefined ? /^E[A-Z0-9]+$/.test(error.code) : error.code === code;
}
