/** The files that this process is still recording into: nobody adds to those from another side. */
import { realpathSync } from "node:fs";
import { resolve } from "node:path";
import { systemCode } from "./problems.ts";

const beingRecorded = new Set<string>();

/** This process is still writing that recording. */
export function isBeingRecorded(path: string): boolean {
  return beingRecorded.has(realPath(path));
}

/** Returns what `noteEnded` is told later. */
export function noteBegun(path: string): string {
  const real = realPath(path);
  beingRecorded.add(real);
  return real;
}

export function noteEnded(noted: string): void {
  beingRecorded.delete(noted);
}

function realPath(path: string): string {
  try {
    return realpathSync(path);
  } catch (error) {
    if (systemCode(error) !== "ENOENT") throw error;
    return resolve(path);
  }
}
