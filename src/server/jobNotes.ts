/** Which jobs lie open here, noted where other programs of ours on this machine look. It keeps nobody out. */
import { createHash, randomBytes } from "node:crypto";
import { mkdirSync, readdirSync, realpathSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Clock } from "../../shared/clock.ts";
import { isAlive, noteOf, notesFolder, readNote } from "./notes.ts";
import { isSystemError } from "./system.ts";

export class JobNotes {
  readonly #clock: Clock;
  readonly #folder: string;
  /** Tells notes of several desks in one process apart. */
  readonly #mine = randomBytes(4).toString("hex");
  #left = new Map<string, string>();

  constructor(clock: Clock, folder = notesFolder()) {
    this.#clock = clock;
    this.#folder = folder;
  }

  /** These jobs of a recordings folder lie open here from now on, and no others. */
  open(own: string, jobs: ReadonlySet<string>): void {
    for (const [job, file] of this.#left) {
      if (jobs.has(job)) continue;
      rmSync(file, { force: true });
      this.#left.delete(job);
    }
    for (const job of jobs) {
      if (this.#left.has(job)) continue;
      const file = join(this.#folder, `${begin(own, job)}${this.#mine}.json`);
      try {
        mkdirSync(this.#folder, { recursive: true, mode: 0o700 });
        writeFileSync(file, noteOf(job, this.#clock));
        this.#left.set(job, file);
      } catch (error) {
        // Nobody is told then; jobs are merged all the same.
        if (!isSystemError(error)) throw error;
      }
    }
  }

  /** Another program that has this job open, in words; null when none has. Notes of the dead are cleared away. */
  other(own: string, job: string): string | null {
    for (const name of this.#names(begin(own, job))) {
      const file = join(this.#folder, name);
      const note = readNote(file);
      if (note !== null && isAlive(note))
        return `another Crankside on this machine (process ${note.pid}, since ${note.since})`;
      if (note?.pid !== process.pid) rmSync(file, { force: true });
    }
    return null;
  }

  #names(start: string): string[] {
    try {
      return readdirSync(this.#folder).filter((name) => name.startsWith(start));
    } catch (error) {
      if (isSystemError(error)) return [];
      throw error;
    }
  }
}

/** How names of notes on this job begin, whatever way leads to its folder. */
function begin(own: string, job: string): string {
  let folder = own;
  try {
    folder = realpathSync(own);
  } catch (error) {
    if (!isSystemError(error)) throw error;
  }
  return `job-${createHash("sha256").update(`${folder}\0${job}`).digest("hex").slice(0, 24)}-`;
}
