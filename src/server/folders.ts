import { lstatSync, realpathSync } from "node:fs";
import { homedir, tmpdir } from "node:os";
import { basename, join, sep } from "node:path";
import { CranksideError } from "../../shared/errors.ts";
import { recordingInJobs } from "../recorder/jobs/recordings.ts";
import { isSystemError } from "./system.ts";

/** Where recordings live: the person's own folder, and the samples that ship with the program. */
export interface Folders {
  readonly own: string;
  /** Null when the samples are missing from this installation. */
  readonly bundled: string | null;
}

const homeFolder = join(homedir(), "Crankside", "recordings");

/** `CRANKSIDE_FOLDER` when set, else a folder in the person's home. */
export function defaultFolder(): string {
  return process.env["CRANKSIDE_FOLDER"] ?? homeFolder;
}

/** Where a recording may go on when its folder fails, the best first. */
export function usualSpares(): string[] {
  return [defaultFolder(), homeFolder, join(tmpdir(), "crankside-recordings")];
}

/**
 * The path of a recording by its file name. A name that leaves the folder, a symbolic link, and whatever else is no
 * plain file is refused as `file-missing`.
 */
export function recordingPath(folders: Folders, file: string): { path: string; bundled: boolean } {
  if (!isRecordingName(file)) {
    throw new CranksideError("file-missing", "not the name of a recording", {
      expected: "NAME.ndjson or NAME.ndjson.gz, without folders",
      found: JSON.stringify(file.slice(0, 80)),
    });
  }
  const own = plainFile(folders.own, file);
  if (own !== null) return { path: own, bundled: false };
  const inJob = recordingInJobs(folders.own, file);
  if (inJob !== null && staysInside(folders.own, inJob)) return { path: inJob, bundled: false };
  const bundled = folders.bundled === null ? null : plainFile(folders.bundled, file);
  if (bundled !== null) return { path: bundled, bundled: true };
  throw new CranksideError("file-missing", "there is no such recording", { found: file, where: folders.own });
}

export function isRecordingName(file: string): boolean {
  if (file.length > 255 || file.startsWith(".") || file !== basename(file)) return false;
  return /^[^\\/\0]+\.ndjson(\.gz)?$/.test(file);
}

/** False for a path that leads out of the folder over a symbolic link; one that is not there yet leads nowhere. */
export function staysInside(folder: string, path: string): boolean {
  try {
    return realpathSync(path).startsWith(realpathSync(folder) + sep);
  } catch (error) {
    if (isSystemError(error, "ENOENT")) return true;
    // A name that the system does not even look up leads nowhere that is meant.
    if (isSystemError(error) || (error instanceof TypeError && path.includes("\0"))) return false;
    throw error;
  }
}

/** The file's true path when it is a plain file in that very folder. */
function plainFile(folder: string, file: string): string | null {
  try {
    const path = join(folder, file);
    if (!lstatSync(path).isFile()) return null;
    const real = realpathSync(path);
    return real === realpathSync(folder) + sep + file ? path : null;
  } catch (error) {
    if (isSystemError(error)) return null;
    throw error;
  }
}
