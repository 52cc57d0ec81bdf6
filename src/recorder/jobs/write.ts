/** Files that are written as a whole: a temporary file, synced, then renamed over the old one; or one that is new. */
import { randomBytes } from "node:crypto";
import { mkdir, open, rename, rm } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { pipeline } from "node:stream/promises";
import { unwritable } from "../problems.ts";

/** Rejects with `file-unwritable`; the old file is then as it was. */
export async function writeWhole(path: string, content: string | Uint8Array): Promise<void> {
  const folder = dirname(path);
  const temporary = join(folder, `.${basename(path)}.${randomBytes(6).toString("hex")}.tmp`);
  try {
    const file = await open(temporary, "wx");
    try {
      await file.writeFile(content);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(temporary, path);
    await syncFolder(folder);
  } catch (error) {
    await rm(temporary, { force: true });
    throw unwritable(path, error);
  }
}

/**
 * A new file with all that the source gives, synced. Rejects as the source and the disk do. The file is there before the
 * source is asked and closed when this is over, so who clears up afterwards meets no file that comes into being later.
 */
export async function writeNew(path: string, source: AsyncIterable<Uint8Array>): Promise<void> {
  const file = await open(path, "wx");
  try {
    await pipeline(source, file.createWriteStream({ flush: true }));
  } finally {
    await file.close();
  }
}

/** Makes a folder with those above it; each new one is on the disk only when the folder that names it is. */
export async function makeFolder(folder: string): Promise<void> {
  const path = resolve(folder);
  const first = await mkdir(path, { recursive: true });
  if (first === undefined) return;
  for (let at = path; at.length >= resolve(first).length; at = dirname(at)) await syncFolder(dirname(at));
}

/** The bytes of a file that others wrote. */
export async function syncFile(path: string): Promise<void> {
  const file = await open(path, "r+");
  try {
    await file.sync();
  } finally {
    await file.close();
  }
}

/** The rename itself is on the disk only when its folder is. Windows has no such thing and needs none. */
export async function syncFolder(folder: string): Promise<void> {
  if (process.platform === "win32") return;
  const handle = await open(folder, "r");
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}
