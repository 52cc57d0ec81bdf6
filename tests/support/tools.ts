import { accessSync, constants } from "node:fs";
import { delimiter, join } from "node:path";
import { existsSync } from "node:fs";

/** Absolute path of a program on PATH, or null. */
export function findProgram(...names: string[]): string | null {
  for (const name of names) {
    for (const folder of (process.env["PATH"] ?? "").split(delimiter)) {
      const path = join(folder, name);
      try {
        accessSync(path, constants.X_OK);
        return path;
      } catch {
        // Not in this folder: the next one may have it.
      }
    }
  }
  return null;
}

export const chromium = findProgram("chromium", "chromium-browser", "google-chrome");
/** Debian's. */
export const firefox = findProgram("firefox-esr");
export const socat = findProgram("socat");
/** Both tools of poppler-utils, which look at what was printed. */
export const poppler = findProgram("pdftotext") !== null && findProgram("pdftoppm") !== null;

/** Open data sets, kept beside the checkout and never inside it; null where they are absent. */
export const dataSet: string | null = beside("carobd");
export const secondCar: string | null = beside("second-car");
/** Captured replies of real modules. */
export const capturedReplies: string | null = beside("replies/replies.ndjson.gz");

function beside(name: string): string | null {
  const path = join(import.meta.dirname, "../../../shared/data", name);
  return existsSync(path) ? path : null;
}
