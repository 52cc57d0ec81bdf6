/** A log from elsewhere becomes a recording by what was found in it and confirmed, where recordings live. */
import { existsSync } from "node:fs";
import { basename, join } from "node:path";
import type { Clock } from "../../../shared/clock.ts";
import { mapOf, type Choice, type LogLook } from "../../../shared/logLook.ts";
import { slug } from "../names.ts";
import { importCsv, type ImportResult } from "./index.ts";
import { keepMap } from "./logFile.ts";

/** Kept maps lie beside the recordings. */
export function mapsFolder(own: string): string {
  return join(own, "maps");
}

export interface LogImport {
  readonly csv: string;
  /** The file's name as the person knows it. */
  readonly name: string;
  readonly look: LogLook;
  readonly choices: readonly Choice[];
  /** Where recordings live. */
  readonly own: string;
  /** The recording to make; null: a free name in the folder, after the log's. */
  readonly out: string | null;
  /** The map is used again for the next log with this header. */
  readonly keep: boolean;
  readonly clock: Clock;
  readonly writer: string;
  readonly onProgress?: (rows: number) => void;
}

/** Resolves with the recording's path too. Rejects as `importCsv` does. */
export async function importLog(options: LogImport): Promise<ImportResult & { readonly path: string }> {
  const { csv, name, look, choices, own, keep, clock, writer, onProgress } = options;
  const map = mapOf(look, choices, `Columns of ${name}`);
  const path = options.out ?? freePath(own, name);
  const result = await importCsv({
    ...{ csv, name, map, out: path, clock, writer },
    ...(onProgress === undefined ? {} : { onProgress }),
  });
  if (keep && map !== null) keepMap(mapsFolder(own), look, map);
  return { ...result, path };
}

function freePath(folder: string, name: string): string {
  const stem = slug(basename(name).replace(/(?:\.(?:csv|tsv|txt|log))?(?:\.gz)?$/i, ""));
  for (let n = 1; ; n++) {
    const path = join(folder, `${stem}${n === 1 ? "" : `-${n}`}.ndjson`);
    if (!existsSync(path)) return path;
  }
}
