/** Where a recording can go on when its own folder fails. */
import { accessSync, constants, existsSync, statfsSync, statSync } from "node:fs";
import { dirname, resolve } from "node:path";
import { isSystemError } from "./system.ts";

/** Less room than this is no way out, bytes. */
const leastRoom = 32 * 1024 * 1024;

/** The first of these folders that can be written and has room, one on another disk before the rest; or null. */
export function spareFolder(own: string, candidates: readonly string[]): string | null {
  const device = deviceOf(own);
  const usable = candidates.filter((folder) => resolve(folder) !== resolve(own) && isUsable(folder));
  return usable.find((folder) => deviceOf(folder) !== device) ?? usable[0] ?? null;
}

function isUsable(folder: string): boolean {
  try {
    const there = nearest(folder);
    accessSync(there, constants.W_OK | constants.X_OK);
    const { bavail, bsize } = statfsSync(there);
    return statSync(there).isDirectory() && bavail * bsize >= leastRoom;
  } catch (error) {
    if (isSystemError(error)) return false;
    throw error;
  }
}

/** The folder itself, or what it would be made in. */
function nearest(folder: string): string {
  let at = resolve(folder);
  while (!existsSync(at) && dirname(at) !== at) at = dirname(at);
  return at;
}

function deviceOf(folder: string): number | null {
  try {
    return statSync(nearest(folder)).dev;
  } catch (error) {
    if (isSystemError(error)) return null;
    throw error;
  }
}
