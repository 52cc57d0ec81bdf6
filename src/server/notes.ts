/** What programs of ours leave in a folder of the person's own, so that others of them on this machine know. */
import { readFileSync } from "node:fs";
import { tmpdir, userInfo } from "node:os";
import { join } from "node:path";
import { z } from "zod/mini";
import type { Clock } from "../../shared/clock.ts";
import { isSystemError } from "./system.ts";

const noteSchema = z.object({ pid: z.int(), began: z.string(), since: z.string(), thing: z.string() });
export type Note = z.infer<typeof noteSchema>;

/** Notes are the person's own: another user of the machine cannot hold our adapter by writing one. */
export function notesFolder(): string {
  return join(tmpdir(), `crankside-${userInfo().username}`);
}

/** The text of a note of this process about a thing: an adapter's address, a job. */
export function noteOf(thing: string, clock: Clock): string {
  const note: Note = {
    pid: process.pid,
    began: beginningOf(process.pid) ?? "",
    since: new Date(clock.wall()).toISOString(),
    thing,
  };
  return JSON.stringify(note);
}

export function readNote(file: string): Note | null {
  try {
    const note = noteSchema.safeParse(JSON.parse(readFileSync(file, "utf8")));
    return note.success ? note.data : null;
  } catch (error) {
    // Gone meanwhile, or no note of ours: either way nobody is named in it.
    if (error instanceof SyntaxError || isSystemError(error)) return null;
    throw error;
  }
}

/** The process that left it still runs, and is another one than this. */
export function isAlive({ pid, began }: Note): boolean {
  if (pid === process.pid) return false;
  try {
    process.kill(pid, 0);
  } catch (error) {
    if (isSystemError(error, "ESRCH")) return false;
    if (!isSystemError(error, "EPERM")) throw error;
  }
  // The number may have gone to another process since.
  const now = beginningOf(pid);
  return now === null || began === "" || now === began;
}

/** When a process began, in the system's own measure; null where that cannot be told. */
function beginningOf(pid: number): string | null {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, "utf8");
    return stat.slice(stat.lastIndexOf(")") + 2).split(" ")[19] ?? null;
  } catch (error) {
    if (isSystemError(error)) return null;
    throw error;
  }
}
