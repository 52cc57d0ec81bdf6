import { existsSync } from "node:fs";
import { homedir } from "node:os";
import { basename, join } from "node:path";
import { CranksideError } from "../../shared/errors.ts";

/** Where recordings live: the person's own folder, and the samples that ship with the program. */
export interface Folders {
  readonly own: string;
  /** Null when the samples are missing from this installation. */
  readonly bundled: string | null;
}

/** `CRANKSIDE_FOLDER` when set, else a folder in the person's home. */
export function defaultFolder(): string {
  return process.env["CRANKSIDE_FOLDER"] ?? join(homedir(), "Crankside", "recordings");
}

/** The path of a recording by its file name; a name that leaves the folder is refused. */
export function recordingPath(folders: Folders, file: string): { path: string; bundled: boolean } {
  if (file === "" || file !== basename(file) || file.startsWith(".") || !/\.ndjson(\.gz)?$/.test(file)) {
    throw new CranksideError("file-missing", "not the name of a recording", {
      expected: "NAME.ndjson or NAME.ndjson.gz, without folders",
      found: JSON.stringify(file.slice(0, 80)),
    });
  }
  const own = join(folders.own, file);
  if (existsSync(own)) return { path: own, bundled: false };
  const bundled = folders.bundled === null ? null : join(folders.bundled, file);
  if (bundled !== null && existsSync(bundled)) return { path: bundled, bundled: true };
  throw new CranksideError("file-missing", "there is no such recording", { found: file, where: folders.own });
}
