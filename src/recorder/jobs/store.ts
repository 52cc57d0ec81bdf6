/**
 * Jobs on disk: `jobs/ID/` in the recordings folder, with `job.json`, `recordings/` and `photos/`. Each change reads
 * the file anew, so that two programs on one folder merge as two pages do.
 */
import { createHash, randomBytes } from "node:crypto";
import { copyFile, mkdir, open, readdir, readFile, rename, rm, stat } from "node:fs/promises";
import { join } from "node:path";
import type { Clock } from "../../../shared/clock.ts";
import { pause } from "../../../shared/clock.ts";
import { CranksideError, isCranksideError, messageOf } from "../../../shared/errors.ts";
import type { JobEntry, KeptPhoto } from "../../../shared/jobMessages.ts";
import { applyChanges, type Change, type Merged } from "../../sheet/change.ts";
import { jobId, jobText, newJob, readJob, type JobDocument } from "../../sheet/job.ts";
import { cleanPhoto, type CleanPhoto } from "../../sheet/photo/photo.ts";
import { isBeingRecorded } from "../writer.ts";
import { fileStamp, isoWithZone, slug } from "../names.ts";
import { systemCode, unreadable, unwritable } from "../problems.ts";
import type { JobFolders } from "./folders.ts";
import { findRecording, isRecordingName } from "./recordings.ts";
import { entryOf, matches } from "./listing.ts";
import { makeFolder, syncFile, syncFolder, writeWhole } from "./write.ts";

/** job.json beyond this is not ours. */
const mostJobBytes = 16 * 1024 * 1024;
/** A lock that a program left behind when it was killed. */
const lockOldMs = 10_000;
const endings = { "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp" } as const;

export class JobStore {
  readonly folders: JobFolders;
  readonly #clock: Clock;
  /** Changes of one job wait for each other. */
  readonly #queues = new Map<string, Promise<unknown>>();

  constructor(folders: JobFolders, clock: Clock) {
    this.folders = folders;
    this.#clock = clock;
  }

  get root(): string {
    return join(this.folders.own, "jobs");
  }

  /** The folder of a job; throws `job-missing` for what cannot be the name of one. */
  folder(id: string): string {
    if (!jobId.safeParse(id).success) {
      throw new CranksideError("job-missing", "not the name of a job", {
        expected: "small letters, digits and hyphens",
        found: JSON.stringify(id.slice(0, 80)),
      });
    }
    return join(this.root, id);
  }

  /** Makes a job of this name, or the next free one: `2024-05-31-garden-van`, then `-2`. */
  async create(name: string): Promise<JobDocument> {
    const wall = this.#clock.wall();
    const day = fileStamp(wall).slice(0, 10);
    const id = await this.claim(`${day}-${name.trim() === "" ? "job" : slug(name)}`);
    const job = newJob(id, isoWithZone(wall));
    await writeWhole(join(this.folder(id), "job.json"), jobText(job));
    return job;
  }

  /** An empty folder of this name that nobody else has. */
  async claim(wanted: string): Promise<string> {
    try {
      await makeFolder(this.root);
      for (let n = 1; ; n++) {
        const id = n === 1 ? wanted : `${wanted}-${n}`;
        try {
          await mkdir(this.folder(id));
          await syncFolder(this.root);
          return id;
        } catch (error) {
          if (systemCode(error) !== "EEXIST") throw error;
        }
      }
    } catch (error) {
      if (error instanceof CranksideError) throw error;
      throw unwritable(this.root, error);
    }
  }

  /** Rejects with `job-missing`, `job-invalid`, `newer-format` or `file-unreadable`. */
  async read(id: string): Promise<JobDocument> {
    const path = join(this.folder(id), "job.json");
    try {
      const { size } = await stat(path);
      if (size > mostJobBytes) {
        throw new CranksideError("job-invalid", "not a job", {
          expected: `at most ${mostJobBytes} bytes`,
          found: `${size} bytes`,
          where: path,
        });
      }
      const job = readJob(await readFile(path, "utf8"), path);
      return job.id === id ? job : { ...job, id };
    } catch (error) {
      if (error instanceof CranksideError) throw error;
      if (systemCode(error) === "ENOENT") {
        throw new CranksideError(
          "job-missing",
          "there is no such job",
          { found: id, where: this.root },
          error,
        );
      }
      throw unreadable(path, error);
    }
  }

  /** Applies changes to the job as it is on disk by now. Rejects as `read` and `applyChanges` do, or `file-unwritable`. */
  change(id: string, changes: readonly Change[]): Promise<Merged> {
    return this.#inTurn(id, async () => {
      const merged = applyChanges(await this.read(id), changes, isoWithZone(this.#clock.wall()));
      if (merged.changed) await writeWhole(join(this.folder(id), "job.json"), jobText(merged.job));
      return merged;
    });
  }

  /** All jobs, the one that was changed last first; what cannot be read is listed with its problem. */
  async list(search = ""): Promise<JobEntry[]> {
    let names: string[];
    try {
      names = await readdir(this.root);
    } catch (error) {
      if (systemCode(error) === "ENOENT") return [];
      throw unreadable(this.root, error);
    }
    const entries: JobEntry[] = [];
    for (const id of names) {
      if (!jobId.safeParse(id).success) continue;
      try {
        const job = await this.read(id);
        if (matches(job, search)) entries.push(entryOf(job));
      } catch (error) {
        if (isCranksideError(error, "job-missing")) continue;
        if (search.trim() === "")
          entries.push({
            id,
            name: "",
            complaint: "",
            changed: "",
            archived: false,
            problem: messageOf(error),
          });
      }
    }
    return entries.sort((a, b) => Date.parse(b.changed) - Date.parse(a.changed) || (a.id < b.id ? 1 : -1));
  }

  /** Checks, strips and keeps a photo. Rejects with `photo-invalid`, `job-missing` or `file-unwritable`. */
  async addPhoto(id: string, bytes: Uint8Array): Promise<KeptPhoto> {
    await this.read(id);
    const photo = cleanPhoto(bytes);
    const kept = keptPhoto(photo);
    const folder = join(this.folder(id), "photos");
    try {
      await makeFolder(folder);
    } catch (error) {
      throw unwritable(folder, error);
    }
    await writeWhole(join(folder, kept.file), photo.bytes);
    return kept;
  }

  photoPath(id: string, file: string): string {
    if (!/^[0-9a-f]{16}\.(?:jpg|png|webp)$/.test(file)) {
      throw new CranksideError("file-missing", "not the name of a photo", {
        found: JSON.stringify(file.slice(0, 80)),
      });
    }
    return join(this.folder(id), "photos", file);
  }

  /**
   * Moves a recording into the job's folder; a bundled sample is copied. One that is being recorded is refused with
   * `wrong-use`, one that is there already with `file-exists`.
   */
  async takeIn(id: string, file: string): Promise<void> {
    await this.read(id);
    if (!isRecordingName(file)) {
      throw new CranksideError("file-missing", "not the name of a recording", {
        found: JSON.stringify(file.slice(0, 80)),
      });
    }
    const folder = join(this.folder(id), "recordings");
    const target = join(folder, file);
    const found = await findRecording(this.folders, file);
    if (found.path === target) return;
    if (isBeingRecorded(found.path)) {
      throw new CranksideError("wrong-use", "the recording is still being written", { found: file });
    }
    try {
      await makeFolder(folder);
      // Takes the name, so that nothing that is there is overwritten.
      const placeholder = await open(target, "wx");
      await placeholder.close();
    } catch (error) {
      if (systemCode(error) === "EEXIST") {
        throw new CranksideError(
          "file-exists",
          "the job has a recording of this name",
          { where: target },
          error,
        );
      }
      throw unwritable(target, error);
    }
    try {
      if (found.bundled) {
        await copyFile(found.path, target);
        await syncFile(target);
      } else await rename(found.path, target);
    } catch (error) {
      await rm(target, { force: true });
      throw unwritable(target, error);
    }
    try {
      // Before the folder that it left: the disk holds the recording under one name or both, never under none.
      await syncFolder(folder);
    } catch (error) {
      throw unwritable(target, error);
    }
  }

  /** Where a recording of this job is: in its folder, else in the person's, else among the samples. */
  async recordingPath(id: string, file: string): Promise<string> {
    return (await findRecording(this.folders, file, this.folder(id))).path;
  }

  /** The job that was opened last; null where there is none any more. */
  async last(): Promise<string | null> {
    try {
      const id = (await readFile(join(this.root, ".last-opened"), "utf8")).trim();
      await this.read(id);
      return id;
    } catch (error) {
      if (isCranksideError(error) || systemCode(error) !== "") return null;
      throw error;
    }
  }

  /** It is not the one that opens by itself any more; another that was opened meanwhile still is. */
  async laidAside(id: string): Promise<void> {
    const path = join(this.root, ".last-opened");
    if ((await this.last()) !== id) return;
    try {
      await rm(path, { force: true });
    } catch (error) {
      throw unwritable(path, error);
    }
  }

  async opened(id: string): Promise<JobDocument> {
    const job = await this.read(id);
    await writeWhole(join(this.root, ".last-opened"), `${id}\n`);
    return job;
  }

  #inTurn<T>(id: string, work: () => Promise<T>): Promise<T> {
    const before = this.#queues.get(id) ?? Promise.resolve();
    const turn = before.then(() => this.#locked(id, work));
    const settled = turn.catch(() => undefined);
    this.#queues.set(id, settled);
    void settled.then(() => {
      if (this.#queues.get(id) === settled) this.#queues.delete(id);
    });
    return turn;
  }

  /** Another program may work on the same folder: a lock file keeps reading and renaming together. */
  async #locked<T>(id: string, work: () => Promise<T>): Promise<T> {
    const lock = join(this.folder(id), ".lock");
    const owner = randomBytes(8).toString("hex");
    const givesUpAt = this.#clock.now() + lockOldMs;
    for (;;) {
      try {
        const file = await open(lock, "wx");
        await file.writeFile(owner);
        await file.close();
        break;
      } catch (error) {
        if (systemCode(error) === "ENOENT") {
          await this.read(id);
          throw unwritable(lock, error);
        }
        if (systemCode(error) !== "EEXIST") throw unwritable(lock, error);
        if (this.#clock.now() > givesUpAt) await rm(lock, { force: true });
        else await pause(this.#clock, 20);
      }
    }
    try {
      return await work();
    } finally {
      await rm(lock, { force: true });
    }
  }
}

/** How a cleaned photo is kept: its name is its sum. */
export function keptPhoto({ type, width, height, bytes }: CleanPhoto): KeptPhoto {
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  return {
    file: `${sha256.slice(0, 16)}.${endings[type]}`,
    type,
    width,
    height,
    bytes: bytes.length,
    sha256,
  };
}
