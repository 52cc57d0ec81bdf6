/** Where a recording is, by its file name. Names carry the second they were begun in, so they rarely meet. */
import { lstatSync, readdirSync } from "node:fs";
import { lstat, readdir } from "node:fs/promises";
import { basename, join } from "node:path";
import { CranksideError } from "../../../shared/errors.ts";
import { jobId } from "../../sheet/job.ts";
import { systemCode, unreadable } from "../problems.ts";
import type { JobFolders } from "./folders.ts";

export function isRecordingName(file: string): boolean {
  return (
    file === basename(file) && !file.startsWith(".") && !/[\\/\0]/.test(file) && /\.ndjson(\.gz)?$/.test(file)
  );
}

export interface FoundRecording {
  readonly path: string;
  readonly bundled: boolean;
}

/** In the job's folder first, then among the person's own, in any job, among the samples. Rejects with `file-missing`. */
export async function findRecording(
  folders: JobFolders,
  file: string,
  job?: string,
): Promise<FoundRecording> {
  if (isRecordingName(file)) {
    const places = [
      ...(job === undefined ? [] : [join(job, "recordings")]),
      folders.own,
      ...(await jobRecordings(folders.own)),
    ];
    for (const folder of places) {
      const path = join(folder, file);
      if (await isFile(path)) return { path, bundled: false };
    }
    if (folders.bundled !== null && (await isFile(join(folders.bundled, file))))
      return { path: join(folders.bundled, file), bundled: true };
  }
  throw new CranksideError("file-missing", "there is no such recording", {
    found: file.slice(0, 120),
    where: folders.own,
  });
}

/** The same at once, for the recordings that stand in some job: the path, or null. */
export function recordingInJobs(own: string, file: string): string | null {
  if (!isRecordingName(file)) return null;
  const root = join(own, "jobs");
  const places = orNothing(() => newestFirst(readdirSync(root))) ?? [];
  const paths = places.map((id) => join(root, id, "recordings", file));
  return paths.find((path) => orNothing(() => lstatSync(path).isFile()) === true) ?? null;
}

/** Null where the system has no such thing. */
function orNothing<T>(look: () => T): T | null {
  try {
    return look();
  } catch (error) {
    if (systemCode(error) !== "") return null;
    throw error;
  }
}

/** Names of jobs begin with their day; whatever else lies in the folder is none of them. */
function newestFirst(names: readonly string[]): string[] {
  return names
    .filter((name) => jobId.safeParse(name).success)
    .sort()
    .reverse();
}

async function jobRecordings(own: string): Promise<string[]> {
  try {
    const ids = await readdir(join(own, "jobs"));
    return newestFirst(ids).map((id) => join(own, "jobs", id, "recordings"));
  } catch (error) {
    if (systemCode(error) === "ENOENT") return [];
    throw unreadable(join(own, "jobs"), error);
  }
}

/** A link would lead out of the folder. */
async function isFile(path: string): Promise<boolean> {
  try {
    return (await lstat(path)).isFile();
  } catch (error) {
    if (systemCode(error) !== "") return false;
    throw error;
  }
}
