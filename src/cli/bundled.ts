import { existsSync } from "node:fs";
import { join } from "node:path";

/** The samples that ship with the program; the built program stands in dist/node, they beside it. */
export function bundledFolder(): string | null {
  const folder = join(import.meta.dirname, "../..", "recordings");
  return existsSync(folder) ? folder : null;
}
