/** Everything that lies in a folder of recordings and jobs, or that was named file by file. */
import { existsSync, readdirSync, statSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { basename, join, resolve } from "node:path";
import { CranksideError, messageOf } from "../../shared/errors.ts";
import { inOrder, jobId, readJob, type JobDocument } from "../sheet/job.ts";
import { isRecordingName } from "./jobs/recordings.ts";
import { systemCode, unreadable } from "./problems.ts";

export interface ShelfRecording {
  readonly path: string;
  readonly file: string;
  readonly bytes: number;
  readonly changedMs: number;
}

export interface ShelfJob {
  readonly path: string;
  readonly id: string;
  readonly bytes: number;
  readonly changedMs: number;
}

export interface Shelf {
  readonly recordings: readonly ShelfRecording[];
  readonly jobs: readonly ShelfJob[];
}

/** By path, so that the order is one. Throws `file-missing`, `file-unreadable` or `wrong-use`. */
export function shelfOf(paths: readonly string[]): Shelf {
  const recordings = new Map<string, ShelfRecording>();
  const jobs = new Map<string, ShelfJob>();
  for (const given of paths) {
    const path = resolve(given);
    const kind = kindOf(path);
    if (kind === "file") takeRecording(path, recordings);
    else takeFolder(path, recordings, jobs);
  }
  const byPath = (a: { path: string }, b: { path: string }): number => (a.path < b.path ? -1 : 1);
  return { recordings: [...recordings.values()].sort(byPath), jobs: [...jobs.values()].sort(byPath) };
}

function kindOf(path: string): "file" | "folder" {
  try {
    const is = statSync(path);
    if (is.isFile()) return "file";
    if (is.isDirectory()) return "folder";
  } catch (error) {
    throw unreadable(path, error);
  }
  throw new CranksideError("wrong-use", "neither a recording nor a folder", { where: path });
}

function takeFolder(
  folder: string,
  recordings: Map<string, ShelfRecording>,
  jobs: Map<string, ShelfJob>,
): void {
  for (const name of listed(folder)) if (isRecordingName(name)) takeRecording(join(folder, name), recordings);
  const root = join(folder, "jobs");
  for (const id of listed(root)) {
    const path = join(root, id, "job.json");
    if (!jobId.safeParse(id).success || !existsSync(path)) continue;
    const { size, mtimeMs } = statSync(path);
    jobs.set(path, { path, id, bytes: size, changedMs: mtimeMs });
    const inside = join(root, id, "recordings");
    for (const name of listed(inside))
      if (isRecordingName(name)) takeRecording(join(inside, name), recordings);
  }
}

/** A link would lead elsewhere, and is left out as in the list of recordings. */
function takeRecording(path: string, recordings: Map<string, ShelfRecording>): void {
  const is = statSync(path, { throwIfNoEntry: false });
  if (is?.isFile() !== true) return;
  recordings.set(path, { path, file: basename(path), bytes: is.size, changedMs: is.mtimeMs });
}

/** Names in a folder; none where there is no such folder. Throws `file-unreadable`. */
export function listed(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch (error) {
    if (systemCode(error) === "ENOENT" || systemCode(error) === "ENOTDIR") return [];
    throw unreadable(folder, error);
  }
}

/** A job's document, or why it cannot be read. */
export async function readShelfJob({ path, id }: ShelfJob): Promise<JobDocument | string> {
  try {
    const job = readJob(await readFile(path, "utf8"), path);
    return job.id === id ? job : { ...job, id };
  } catch (error) {
    return messageOf(error instanceof CranksideError ? error : unreadable(path, error));
  }
}

/** Files of the recordings that stand on the job's sheet. */
export function filesOf(job: JobDocument): string[] {
  return inOrder(job.recordings).map(({ tie }) => tie.file);
}
