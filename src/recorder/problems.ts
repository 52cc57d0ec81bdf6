/** What the system says of a file, in words and under our codes. */
import { CranksideError, messageOf } from "../../shared/errors.ts";

const words: Readonly<Record<string, string>> = {
  ENOSPC: "the disk is full",
  EDQUOT: "the disk quota is used up",
  EROFS: "the disk is read-only",
  EACCES: "no permission",
  EPERM: "no permission",
  EIO: "the disk failed",
  ENODEV: "the disk is gone",
  ENXIO: "the disk is gone",
  EBADF: "the file is no longer open",
  ESTALE: "the file is gone",
  ENOENT: "there is no such file or folder",
  ENOTDIR: "a part of the path is a file",
  EISDIR: "it is a folder",
  EMFILE: "too many open files",
  EFBIG: "the file is too large for the disk",
};

/** The system's code of an error, such as ENOSPC, or "" where there is none. */
export function systemCode(error: unknown): string {
  if (!(error instanceof Error) || !("code" in error)) return "";
  return typeof error.code === "string" && /^[A-Z][A-Z0-9_]*$/.test(error.code) ? error.code : "";
}

function inWords(error: unknown): string {
  const code = systemCode(error);
  const known = words[code];
  return known === undefined ? messageOf(error) : `${known} (${code})`;
}

export function unreadable(path: string, error: unknown): CranksideError {
  if (systemCode(error) === "ENOENT") {
    return new CranksideError("file-missing", "there is no such file", { where: path }, error);
  }
  return new CranksideError(
    "file-unreadable",
    "the file cannot be read",
    { found: inWords(error), where: path },
    error,
  );
}

export function unwritable(path: string, error: unknown, advice?: string): CranksideError {
  const context = { found: inWords(error), where: path, ...(advice === undefined ? {} : { advice }) };
  return new CranksideError("file-unwritable", "the file cannot be written", context, error);
}
