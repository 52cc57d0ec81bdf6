/**
 * The indexes of a folder: beside each recording `.shelf/FILE.json`, beside the jobs `.shelf/ID.json`. One that is missing,
 * older than what it is about, of another version, or judged by other ranges than the page would today, is made when it is
 * needed.
 */
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { messageOf } from "../../../shared/errors.ts";
import { vehicleKey, type VehicleFacts } from "../../../shared/vehicle.ts";
import {
  entryVersion,
  jobEntry,
  recordingEntry,
  shelfEntrySchema,
  type ShelfEntry,
} from "../../sheet/shelf/entries.ts";
import { readByJob } from "../../sheet/readByJob.ts";
import { Searchable } from "../../sheet/shelf/search.ts";
import { systemCode } from "../problems.ts";
import { normalsInUse, type InUse } from "../normals.ts";
import { openRecording } from "../open.ts";
import { listed, readShelfJob, shelfOf, type ShelfJob, type ShelfRecording } from "../shelfSources.ts";
import { isBeingRecorded } from "../writer.ts";

export interface ShelfProblem {
  readonly source: string;
  readonly why: string;
}

/** What is said of a vehicle in an index; empty where nobody said it. */
type Named = Pick<ShelfEntry["vehicle"], "name" | "vin">;

interface Kept {
  readonly stamp: string;
  readonly one: Searchable;
}

export interface RefreshOptions {
  /** Hears how many of those that had to be made are made. */
  readonly onProgress?: (made: number, toMake: number, source: string) => void;
  /** Asked before each: whether to leave the rest for another time. */
  readonly stopped?: () => boolean;
}

export class Shelf {
  readonly folder: string;
  /** By path of what it is about. */
  readonly #kept = new Map<string, Kept>();
  #problems: ShelfProblem[] = [];
  /** All that was on the disk when it was last looked at. */
  #sources: readonly (ShelfRecording | ShelfJob)[] = [];
  #normals: ReadonlyMap<string, InUse> = new Map();
  /** By file the vehicle of the job that it stands on, which goes before what it says itself. */
  readonly #byJob = new Map<string, Named>();

  constructor(folder: string) {
    this.folder = folder;
  }

  get all(): readonly Searchable[] {
    return [...this.#kept.values()].map(({ one }) => one);
  }

  get problems(): readonly ShelfProblem[] {
    return this.#problems;
  }

  /** Takes in what is on the disk and up to date, and forgets what is gone. Returns what is still to be made. */
  load(): (ShelfRecording | ShelfJob)[] {
    const { recordings, jobs } = shelfOf([this.folder]);
    // Jobs first: they say whose the recordings are.
    const sources = [...jobs, ...recordings];
    this.#sources = sources;
    this.#normals = normalsInUse(this.folder);
    this.#byJob.clear();
    const here = new Set(sources.map(({ path }) => path));
    for (const path of this.#kept.keys()) if (!here.has(path)) this.#kept.delete(path);
    const places = new Map<string, ReadonlySet<string>>();
    return sources.filter((source) => {
      const stamp = stampOf(source);
      const kept = this.#kept.get(source.path);
      if (kept?.stamp === stamp && this.#isJudged(source, kept.one.entry)) {
        this.#keep(source, stamp, kept.one.entry);
        return false;
      }
      const index = indexPath(source);
      const place = dirname(index);
      let names = places.get(place);
      if (names === undefined) {
        names = new Set(listed(place));
        places.set(place, names);
      }
      const entry = names.has(index.slice(place.length + 1)) ? readEntry(index, stamp) : null;
      if (entry === null || !this.#isJudged(source, entry)) return true;
      this.#keep(source, stamp, entry);
      return false;
    });
  }

  /** Makes what is missing; what cannot be read is told and left out. */
  async refresh(options: RefreshOptions = {}): Promise<void> {
    let missing = this.load();
    this.#problems = [];
    for (let made = 0; made < missing.length; made++) {
      const source = missing[made];
      if (source === undefined || options.stopped?.() === true) return;
      options.onProgress?.(made, missing.length, nameOf(source));
      await this.#make(source);
      // Its recordings may be of another vehicle than they say themselves.
      if (!("file" in source)) missing = [...missing, ...this.#misjudged(missing)];
    }
    this.#sweep();
  }

  async #make(source: ShelfRecording | ShelfJob): Promise<void> {
    // What is still growing is indexed when it is whole.
    if ("file" in source && isBeingRecorded(source.path)) return;
    const stamp = stampOf(source);
    try {
      const entry =
        "file" in source ? await this.#entryOfRecording(source, stamp) : await entryOfJob(source, stamp);
      this.#keep(source, stamp, entry);
      const path = indexPath(source);
      try {
        mkdirSync(dirname(path), { recursive: true });
        // Nothing is lost with it: one that a crash cut short is made again.
        writeFileSync(path, `${JSON.stringify(entry)}\n`);
      } catch (error) {
        // A folder that cannot be written to is searched all the same.
        this.#problems.push({ source: path, why: messageOf(error) });
      }
    } catch (error) {
      this.#problems.push({ source: source.path, why: messageOf(error) });
    }
  }

  #keep(source: ShelfRecording | ShelfJob, stamp: string, entry: ShelfEntry): void {
    if (entry.kind === "job") for (const file of entry.recordings) this.#byJob.set(file, entry.vehicle);
    if (this.#kept.get(source.path)?.one.entry === entry) return;
    this.#kept.set(source.path, { stamp, one: new Searchable({ name: nameOf(source), entry }) });
  }

  /** What the page would judge it by: the same vehicle has the same ranges there. */
  #normalOf(file: string, { name = "", vin = "" }: VehicleFacts): InUse | undefined {
    if (this.#normals.size === 0) return undefined;
    const job = this.#byJob.get(file) ?? { name: "", vin: "" };
    const vehicle = { name: job.name === "" ? name : job.name, vin: job.vin === "" ? vin : job.vin };
    return this.#normals.get(vehicleKey(vehicle, file));
  }

  #isJudged(source: ShelfRecording | ShelfJob, entry: ShelfEntry): boolean {
    if (entry.kind === "job" || !("file" in source)) return true;
    const { name, vin } = entry.vehicle;
    return entry.normal === this.#normalOf(source.file, { name, vin })?.state;
  }

  /** Recordings that were judged by other ranges, but for those that are to be made anyway. */
  #misjudged(made: readonly (ShelfRecording | ShelfJob)[]): (ShelfRecording | ShelfJob)[] {
    return this.#sources.filter((source) => {
      const kept = this.#kept.get(source.path);
      return kept !== undefined && !made.includes(source) && !this.#isJudged(source, kept.one.entry);
    });
  }

  async #entryOfRecording({ path, file }: ShelfRecording, stamp: string): Promise<ShelfEntry> {
    const analyst = await openRecording(path);
    const own = this.#normalOf(file, analyst.vehicle);
    analyst.readBy({ ...readByJob(null, file), normal: own?.normal });
    return recordingEntry(analyst, stamp, own?.state);
  }

  /** Indexes of what is no longer there. */
  #sweep(): void {
    const wanted = new Set(this.#sources.map(indexPath));
    for (const place of new Set([...wanted].map(dirname)))
      for (const name of listed(place))
        if (!wanted.has(join(place, name)) && name.endsWith(".json"))
          rmSync(join(place, name), { force: true });
  }
}

const nameOf = (source: ShelfRecording | ShelfJob): string => ("file" in source ? source.file : source.id);

const stampOf = ({ bytes, changedMs }: ShelfRecording | ShelfJob): string => `${bytes}/${changedMs}`;

function indexPath(source: ShelfRecording | ShelfJob): string {
  if ("file" in source) return join(dirname(source.path), ".shelf", `${source.file}.json`);
  return join(dirname(dirname(source.path)), ".shelf", `${source.id}.json`);
}

/** Null where it has to be made again. */
function readEntry(path: string, stamp: string): ShelfEntry | null {
  try {
    const stored: unknown = JSON.parse(readFileSync(path, "utf8"));
    // Looked at before the whole shape is: most of the time goes there.
    if (typeof stored !== "object" || stored === null || !("stamp" in stored) || !("version" in stored))
      return null;
    if (stored.stamp !== stamp || stored.version !== entryVersion) return null;
    const entry = shelfEntrySchema.safeParse(stored);
    return entry.success ? entry.data : null;
  } catch (error) {
    if (error instanceof SyntaxError || systemCode(error) !== "") return null;
    throw error;
  }
}

async function entryOfJob(source: ShelfJob, stamp: string): Promise<ShelfEntry> {
  const job = await readShelfJob(source);
  if (typeof job === "string") throw new Error(job);
  return jobEntry(job, stamp);
}
