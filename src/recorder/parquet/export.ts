/**
 * Recordings and jobs as two tables of Parquet files, for engines that ask many at once: `readings` and `events`, in folders
 * by vehicle and month, a file a recording or job. recordings/PARQUET.md describes them.
 */
import { createHash } from "node:crypto";
import { existsSync, rmSync } from "node:fs";
import { join } from "node:path";
import { isCranksideError, messageOf } from "../../../shared/errors.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import { newJob, type JobDocument } from "../../sheet/job.ts";
import { maskOf, masksAnything, type Masking } from "../../sheet/mask.ts";
import { readByJob } from "../../sheet/readByJob.ts";
import { jobEvents, recordingEvents, type EventRow } from "../../sheet/rows/events.ts";
import { tieOf } from "../jobs/tie.ts";
import { openRecording } from "../open.ts";
import {
  filesOf,
  readShelfJob,
  shelfOf,
  type Shelf,
  type ShelfJob,
  type ShelfRecording,
} from "../shelfSources.ts";
import { eventColumns, readingColumns, tablesVersion, type Column } from "./columns.ts";
import { Made } from "./made.ts";
import { addReadings, datedBy, micros, type Dated } from "./readings.ts";
import { TableFile } from "./tableFile.ts";

export interface ParquetOptions {
  readonly masking: Masking;
  /** Name and version of the program, for the files. */
  readonly writer: string;
  /** Hears how many of all sources are done. */
  readonly onProgress?: (done: number, all: number, source: string) => void;
  /** Asked between two sources: whether to break off. What is written stays, and the next export carries on. */
  readonly stopped?: () => boolean;
}

export interface ParquetSummary {
  /** Recordings and jobs whose files were written now. */
  readonly written: number;
  /** Those that were there already, and have not changed. */
  readonly kept: number;
  /** Sources that are gone: their files were taken away. */
  readonly gone: number;
  readonly rows: number;
  readonly bytes: number;
  readonly problems: readonly { readonly source: string; readonly why: string }[];
}

type JobOf = ReadonlyMap<string, JobDocument>;

/** Throws for what is named wrongly or cannot be written; a source that cannot be read is told and left out. */
export async function exportParquet(
  paths: readonly string[],
  out: string,
  options: ParquetOptions,
): Promise<ParquetSummary> {
  return new ParquetExport(out, options).all(shelfOf(paths));
}

class ParquetExport {
  readonly #out: string;
  readonly #options: ParquetOptions;
  readonly #made: Made;
  readonly #problems: { source: string; why: string }[] = [];
  #written = 0;
  #kept = 0;
  #gone = 0;
  #rows = 0;
  #bytes = 0;

  constructor(out: string, options: ParquetOptions) {
    this.#out = out;
    this.#options = options;
    this.#made = new Made(out);
  }

  async all(shelf: Shelf): Promise<ParquetSummary> {
    const recordings = await distinct(shelf.recordings);
    const all = recordings.length + shelf.jobs.length;
    const jobOf = await this.#jobs(shelf.jobs);
    let done = 0;
    for (const one of recordings) {
      if (this.#options.stopped?.() === true) break;
      this.#options.onProgress?.(done, all, one.file);
      await this.#guarded(one.path, () => this.#recording(one, jobOf.get(one.file) ?? null));
      done += 1;
    }
    for (const one of shelf.jobs) {
      if (this.#options.stopped?.() === true) break;
      this.#options.onProgress?.(done, all, one.id);
      await this.#guarded(one.path, () => this.#job(one));
      done += 1;
    }
    if (done === all) this.#sweep();
    return {
      ...{ written: this.#written, kept: this.#kept, gone: this.#gone },
      ...{ rows: this.#rows, bytes: this.#bytes, problems: this.#problems },
    };
  }

  /** By the file of a recording: the job that was changed last of those on which it stands. */
  async #jobs(jobs: readonly ShelfJob[]): Promise<JobOf> {
    const of = new Map<string, JobDocument>();
    for (const one of jobs) {
      const job = await readShelfJob(one);
      if (typeof job === "string") continue;
      for (const file of filesOf(job)) {
        const other = of.get(file);
        if (other === undefined || Date.parse(other.changed) < Date.parse(job.changed)) of.set(file, job);
      }
    }
    return of;
  }

  async #guarded(source: string, work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } catch (error) {
      // The place that is written to is everybody's: no other source would fare better.
      if (isCranksideError(error, "file-unwritable")) throw error;
      this.#problems.push({ source, why: messageOf(error) });
    }
  }

  async #recording(one: Named, job: JobDocument | null): Promise<void> {
    const stamp = this.#stamp(one, job === null ? "" : this.#restsOn(job));
    if (this.#isMade(one.path, stamp)) return;
    const analyst = await openRecording(one.path, { by: readByJob(job, one.file) });
    const { reading, facts, vehicle, started } = analyst;
    const findings = analyst.findings();
    const mask = this.#maskBy(job ?? { ...newJob("none", started), vehicle });
    const dated = datedBy(started);
    const recording = this.#named("recording", one.name, mask);
    const place = this.#place(vehicle, started, mask);
    const files = [`readings/${place}/${recording}.parquet`, `events/${place}/${recording}.parquet`];
    this.#forget(one.path, files);
    this.#write(files[0] ?? "", readingColumns, (table) => {
      addReadings(table, reading, { recording, dated, regimes: findings.regimes });
    });
    this.#write(files[1] ?? "", eventColumns, (table) => {
      for (const event of recordingEvents(reading, findings, { ...facts, vehicle }))
        table.add(this.#eventCells(event, { recording, job: null, dated, mask }));
    });
    this.#made.set({ source: one.path, stamp, files });
    this.#written += 1;
  }

  async #job(one: ShelfJob): Promise<void> {
    const stamp = this.#stamp(one, "");
    if (this.#isMade(one.path, stamp)) return;
    const job = await readShelfJob(one);
    if (typeof job === "string") {
      this.#problems.push({ source: one.path, why: job });
      return;
    }
    const mask = this.#maskBy(job);
    const name = this.#named("job", job.id, mask);
    const files = [`events/${this.#place(job.vehicle, job.created, mask)}/${name}.parquet`];
    this.#forget(one.path, files);
    this.#write(files[0] ?? "", eventColumns, (table) => {
      for (const event of jobEvents(job)) {
        const file = event.recording;
        const recording = file === null ? null : this.#named("recording", withoutEnding(file), mask);
        table.add(this.#eventCells(event, { recording, job: name, dated: null, mask }));
      }
    });
    this.#made.set({ source: one.path, stamp, files });
    this.#written += 1;
  }

  #write(file: string, columns: readonly Column[], fill: (table: TableFile) => void): void {
    const table = new TableFile(join(this.#out, file), columns, this.#options.writer);
    try {
      fill(table);
      table.finish();
    } catch (error) {
      table.giveUp();
      throw error;
    }
    this.#rows += table.rows;
    this.#bytes += table.bytes;
  }

  #eventCells(
    event: EventRow,
    by: {
      readonly recording: string | null;
      readonly job: string | null;
      readonly dated: Dated | null;
      readonly mask: (text: string) => string;
    },
  ): (string | number | bigint | null)[] {
    const { t, at } = event;
    const own = at === null ? null : datedBy(at);
    const dated = own ?? by.dated;
    const us = t === null ? null : micros(t);
    const masked = (text: string | null): string | null => (text === null ? null : by.mask(text));
    const whole = (ms: number | null): bigint | null => (ms === null ? null : BigInt(micros(ms)));
    const time =
      dated === null || Number.isNaN(dated.startMicros)
        ? null
        : BigInt(dated.startMicros + (own === null ? (us ?? 0) : 0));
    return [
      ...[by.recording, by.job, event.kind, event.kind === "job" ? by.job : masked(event.of), event.n],
      ...[whole(t), whole(event.until), time, dated?.zone ?? null, masked(event.verdict), event.side],
      ...[event.module, event.bank, event.cylinder, event.value, event.unit, event.low, event.high],
      ...[event.samples, masked(event.words)],
    ];
  }

  #maskBy(job: JobDocument): (text: string) => string {
    const { masking } = this.#options;
    return masksAnything(masking) ? maskOf(job, masking) : (text) => text;
  }

  /** What would tell whose it is is called by a sign that tells nothing. */
  #named(kind: string, name: string, mask: (text: string) => string): string {
    return mask(name) === name ? name : this.#made.pseudonym(kind, name);
  }

  #place(vehicle: VehicleFacts, started: string, mask: (text: string) => string): string {
    const name = (vehicle.name ?? vehicle.vin ?? "").trim();
    // The whole VIN tells two vehicles apart whose masked ones are alike.
    const told = name === "" ? "unknown" : this.#named("vehicle", name, mask);
    const month = /^\d{4}-\d\d/.exec(started)?.[0] ?? "unknown";
    return `vehicle=${escaped(told)}/month=${month}`;
  }

  #stamp({ bytes, changedMs }: ShelfRecording | ShelfJob, more: string): string {
    const all = JSON.stringify([
      bytes,
      changedMs,
      this.#options.masking,
      tablesVersion,
      this.#options.writer,
      more,
    ]);
    return createHash("sha256").update(all).digest("hex").slice(0, 32);
  }

  #isMade(source: string, stamp: string): boolean {
    if (this.#made.get(source)?.stamp !== stamp) return false;
    this.#kept += 1;
    return true;
  }

  /** What an earlier export wrote of this source under other names. */
  #forget(source: string, now: readonly string[]): void {
    for (const file of this.#made.get(source)?.files ?? [])
      if (!now.includes(file)) rmSync(join(this.#out, file), { force: true });
  }

  /** Files of sources that are no longer there. */
  #sweep(): void {
    for (const source of this.#made.sources()) {
      const files = this.#made.get(source)?.files ?? [];
      if (files.length === 0 || existsSync(source)) continue;
      this.#forget(source, []);
      this.#made.set({ source, stamp: "gone", files: [] });
      this.#gone += 1;
    }
  }

  /** What a job changes in the rows of its recordings. */
  #restsOn(job: JobDocument): string {
    if (masksAnything(this.#options.masking)) return JSON.stringify(job);
    return JSON.stringify([job.vehicle, job.unsaid, job.texts.complaint]);
  }
}

interface Named extends ShelfRecording {
  readonly name: string;
}

/**
 * A recording that was opened from a bundle may stand in the folder twice: what says the same counts once. Others of one
 * name are numbered.
 */
async function distinct(recordings: readonly ShelfRecording[]): Promise<Named[]> {
  const byName = new Map<string, ShelfRecording[]>();
  for (const one of recordings) {
    const name = withoutEnding(one.file);
    byName.set(name, [...(byName.get(name) ?? []), one]);
  }
  const named: Named[] = [];
  for (const [name, alike] of byName) {
    const sums = new Set<string>();
    for (const one of alike) {
      const sum = alike.length === 1 ? "" : (await tieOf(one.path)).sha256;
      if (sums.has(sum)) continue;
      sums.add(sum);
      named.push({ ...one, name: sums.size === 1 ? name : `${name}-${sums.size}` });
    }
  }
  return named;
}

const withoutEnding = (file: string): string => file.replace(/\.ndjson(\.gz)?$/, "");

/** As such folders are named: what may not stand in a path is written as %XX, which engines read back. */
function escaped(name: string): string {
  return encodeURIComponent(name.slice(0, 120))
    .replace(/[!'()*~]/g, (sign) => `%${sign.charCodeAt(0).toString(16).toUpperCase()}`)
    .replace(/^\.|\.$/g, "%2E");
}
