/** What 0.1.0 wrote, and folders to work on copies of it. */
import { cpSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { VirtualClock } from "../../adapters/link/index.ts";
import { CranksideError } from "../../shared/errors.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";

export const archive = join(import.meta.dirname, "v1");
export const fullJob = "2024-03-02-old-hatch";

export function archived(name: string): Buffer {
  return readFileSync(join(archive, name));
}

export function archivedJson(name: string): unknown {
  return JSON.parse(archived(name).toString("utf8"));
}

/** A copy of what a person had kept with 0.1.0, in this folder, and the store of it. */
export function keptIn(folder: string): JobStore {
  cpSync(join(archive, "kept"), folder, { recursive: true });
  return new JobStore({ own: folder, bundled: null }, new VirtualClock(Date.UTC(2024, 2, 3, 9)));
}

/** The error code, or "no error". */
export function codeOf(act: () => unknown): string {
  try {
    act();
  } catch (error) {
    if (error instanceof CranksideError) return error.code;
    throw error;
  }
  return "no error";
}

export type Json = null | boolean | number | string | Json[] | { [name: string]: Json };

/** Where a value of the first is missing in the second, or another there. Fields that the second has more are none. */
export function lost(before: unknown, after: unknown, at = ""): string[] {
  if (Array.isArray(before)) {
    if (!Array.isArray(after)) return [at];
    return before.flatMap((value, i) => lost(value, after[i], `${at}[${i}]`));
  }
  if (typeof before !== "object" || before === null) return before === after ? [] : [at];
  if (typeof after !== "object" || after === null) return [at];
  return Object.entries(before).flatMap(([name, value]) =>
    Object.hasOwn(after, name)
      ? lost(value, (after as Record<string, unknown>)[name], `${at}.${name}`)
      : [`${at}.${name}`],
  );
}
