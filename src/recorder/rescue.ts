/** Ways back to a file that was removed, or whose disk was gone for a while. */
import { constants, fstatSync, readSync, statSync } from "node:fs";
import type { Disk } from "./disk.ts";
import { systemCode } from "./problems.ts";
import type { ByteTail } from "./tail.ts";

/** The path still leads to the open file. Throws what the system says when that cannot be told. */
export function stillThere(fd: number, path: string): boolean {
  const open = fstatSync(fd, { bigint: true });
  const found = statSync(path, { bigint: true, throwIfNoEntry: false });
  return found !== undefined && found.ino === open.ino && found.dev === open.dev;
}

/** The first free one of `name.ndjson`, `name-2.ndjson`, ...; made, and open for appending only. */
export function openFree(disk: Disk, path: string): { fd: number; path: string } {
  const dot = path.endsWith(".ndjson") ? path.length - ".ndjson".length : path.length;
  for (let number = 1; ; number++) {
    const free = number === 1 ? path : `${path.slice(0, dot)}-${number}${path.slice(dot)}`;
    try {
      return { fd: disk.open(free, "ax+"), path: free };
    } catch (error) {
      if (systemCode(error) !== "EEXIST" || number >= 9999) throw error;
    }
  }
}

/** A removed file is still whole behind its descriptor: copies its first `bytes` into a new one. */
export function copyOut(disk: Disk, fd: number, path: string, bytes: number): { fd: number; path: string } {
  const target = openFree(disk, path);
  try {
    const buffer = Buffer.allocUnsafe(1 << 20);
    for (let at = 0; at < bytes;) {
      const read = readSync(fd, buffer, 0, Math.min(buffer.length, bytes - at), at);
      if (read === 0) throw new Error(`the removed file ends at byte ${at} of ${bytes}`);
      writeAll(disk, target.fd, buffer.subarray(0, read));
      at += read;
    }
    return target;
  } catch (error) {
    disk.close(target.fd);
    throw error;
  }
}

/** Up to 256 KiB from `from` on, none beyond `until`. */
export function readSome(fd: number, from: number, until: number): Uint8Array {
  const buffer = Buffer.allocUnsafe(Math.min(1 << 18, until - from));
  const read = readSync(fd, buffer, 0, buffer.length, from);
  if (read === 0) throw new Error(`the file ends at byte ${from} of ${until}`);
  return buffer.subarray(0, read);
}

/**
 * Opens the file again by its path and finds out how much of it arrived: what lies after the last sync may be
 * missing there and is still in the tail. Throws when the file is not the one that was being written.
 */
export function rejoin(
  disk: Disk,
  path: string,
  tail: ByteTail,
  written: number,
): { fd: number; written: number } {
  const fd = disk.open(path, constants.O_RDWR | constants.O_APPEND);
  try {
    const size = fstatSync(fd).size;
    if (size < tail.from || size > written) {
      throw new Error(`the file has ${size} bytes, expected ${tail.from} to ${written}`);
    }
    const found = Buffer.alloc(size - tail.from);
    for (let at = 0; at < found.length;) {
      const read = readSync(fd, found, at, found.length - at, tail.from + at);
      if (read === 0) throw new Error(`the file cannot be read beyond byte ${tail.from + at}`);
      at += read;
    }
    const kept = Buffer.concat([...tail.since(tail.from)]).subarray(0, found.length);
    if (!found.equals(kept)) throw new Error("the end of the file is not what was written");
    return { fd, written: size };
  } catch (error) {
    disk.close(fd);
    throw error;
  }
}

export function writeAll(disk: Disk, fd: number, bytes: Uint8Array): void {
  for (let at = 0; at < bytes.length;) {
    const went = disk.write(fd, bytes, at);
    if (went <= 0) throw new Error("the disk takes no more bytes");
    at += went;
  }
}
