/** Turns a CSV from elsewhere into a recording of samples. */
import { basename } from "node:path";
import type { Clock } from "../../../shared/clock.ts";
import type { RecordingEvent } from "../../../shared/recording/format.ts";
import type { EventSink } from "../../../shared/recording/sink.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import { createRecording } from "../writer.ts";
import { readMap, readMapFile, type ReadMap } from "./map.ts";
import { localMs } from "./dates.ts";
import { textOf } from "./logFile.ts";
import { readReplies } from "./replies.ts";
import { realReadings } from "./rounds.ts";
import { readTable, type Table } from "./table.ts";
import { counted } from "./tally.ts";
import { asTimed, spread, steady, type RowTimes } from "./times.ts";

export interface ImportOptions {
  /** The file, `.csv` or `.csv.gz` (told by its first bytes). */
  readonly csv: string;
  /** The log's own name, where the file is only a copy of it. */
  readonly name?: string;
  /** Path of a column map, or one as an object; null for a log of replies, which needs none. */
  readonly map: string | object | null;
  readonly clock: Clock;
  readonly writer: string;
  readonly vehicle?: VehicleFacts;
  /** Wall time of the first row, milliseconds since 1970, where the file does not tell it. */
  readonly startedMs?: number;
  readonly onProgress?: (rows: number) => void;
}

export interface ImportResult {
  /** Rows that were used. */
  readonly rows: number;
  readonly samples: number;
  /** Channels with at least one sample. */
  readonly channels: number;
  /** What was met on the way, a sentence each with counts and first lines; also in the recording. */
  readonly notices: readonly string[];
}

/**
 * Imports into a new recording `out`, which is closed with an end line. Rejects with `file-missing`,
 * `file-unreadable`, `map-invalid`, `csv-columns`, `csv-values`, `file-exists` or `file-unwritable`; nothing is
 * written before the whole CSV has been read.
 */
export async function importCsv(options: ImportOptions & { readonly out: string }): Promise<ImportResult> {
  const { events, result, startedMs } = await prepare(options);
  const writer = createRecording({
    file: options.out,
    clock: options.clock,
    startedMs,
    header: {
      from: `import:${basename(options.name ?? options.csv)}`,
      adapter: null,
      protocol: null,
      vehicle: options.vehicle ?? {},
      invented: false,
      writer: options.writer,
    },
  });
  let lastMs = 0;
  for (const event of events()) {
    writer.append(event);
    lastMs = event.t;
  }
  await writer.close(lastMs);
  return result;
}

/** The same into a sink of one's own, without header and end. */
export async function importCsvInto(
  options: ImportOptions & { readonly sink: EventSink },
): Promise<ImportResult> {
  const { events, result } = await prepare(options);
  for (const event of events()) options.sink.append(event);
  return result;
}

interface Prepared {
  readonly events: () => Generator<RecordingEvent>;
  readonly result: ImportResult;
  readonly startedMs: number;
}

async function prepare(options: ImportOptions): Promise<Prepared> {
  if (options.map === null) return prepareReplies(options, options.csv);
  const map =
    typeof options.map === "string" ? readMapFile(options.map) : readMap(options.map, "the column map");
  const table = await readTable(options.csv, map, options.onProgress);
  const times = rowTimes(table, map);
  const readings = readingsOf(table, times, map);
  const absolute = ["ISO 8601", "epoch s", "epoch ms"].includes(map.time.unit);
  const first = table.time[times.rows[0] ?? 0] ?? 0;
  const told = absolute ? first * 1000 : table.dated ? localMs(first) : null;
  const startedMs = options.startedMs ?? told ?? options.clock.wall();
  const notices = [
    ...(told === null && options.startedMs === undefined ? [noDay(map)] : []),
    ...table.notices,
    ...times.notices,
    ...readings.notices,
  ];
  const filled = readings.rows.filter((rows) => rows.length > 0);
  return {
    events: () => eventsOf(table, times, readings.rows, notices),
    result: {
      rows: times.rows.length,
      samples: filled.reduce((sum, rows) => sum + rows.length, 0),
      channels: filled.length,
      notices,
    },
    startedMs,
  };
}

function noDay({ time }: ReadMap): string {
  if (time.unit !== "clock") return noDate;
  return time.date?.order === "unclear"
    ? `the days in ${time.date.column} can be read in two ways: the start is the time of the import`
    : "the file gives the time of day and no date: the start is the time of the import";
}

const noDate = "the file does not say when it was recorded: the start is the time of the import";

async function prepareReplies({ clock, startedMs }: ImportOptions, csv: string): Promise<Prepared> {
  const { rows, samples, notices } = readReplies(await textOf(csv), csv);
  const told = [...(startedMs === undefined ? [noDate] : []), ...notices];
  const events = function* (): Generator<RecordingEvent> {
    for (const text of told) yield { k: "notice", t: 0, text };
    yield* samples;
  };
  const channels = new Set(samples.map(({ ch }) => ch)).size;
  return {
    events,
    result: { rows, samples: samples.length, channels, notices: told },
    startedMs: startedMs ?? clock.wall(),
  };
}

const stepSeconds = {
  ...{ s: 1, ms: 0.001, min: 60, clock: 1 },
  ...{ "ISO 8601": 0, "epoch s": 1, "epoch ms": 0.001 },
} as const;

function rowTimes(table: Table, map: ReadMap): RowTimes {
  switch (map.time.rows) {
    case "as-timed":
      return asTimed(table.time);
    case "spread":
      return spread(table.time);
    case "steady":
      return steady(table.time, table.wholeTimes ? stepSeconds[map.time.unit] : 0);
  }
}

interface Readings {
  /** By column: indices into the kept rows. */
  readonly rows: readonly (readonly number[])[];
  readonly notices: readonly string[];
}

function readingsOf(table: Table, times: RowTimes, map: ReadMap): Readings {
  const kept = table.values.map((column) => times.rows.map((row) => column[row] ?? Number.NaN));
  const time = times.rows.map((row) => table.time[row] ?? Number.NaN);
  const found: (readonly number[])[] = kept.map((column) =>
    [...column.keys()].filter((row) => !Number.isNaN(column[row] ?? Number.NaN)),
  );
  const notices: string[] = [];
  const rounds = new Set(table.columns.flatMap((c) => (c.round === null ? [] : [c.round])));
  for (const round of rounds) {
    const members = [...table.columns.keys()].filter((c) => table.columns[c]?.round === round);
    const columns = members.map((c) => kept[c] ?? []);
    const withTime = map.time.round === round ? [...columns, time] : columns;
    const readings = realReadings(withTime, time.length);
    let cells = 0;
    let real = 0;
    members.forEach((c, i) => {
      cells += found[c]?.length ?? 0;
      real += readings[i]?.length ?? 0;
      found[c] = readings[i] ?? [];
    });
    const name = round === "" ? "" : ` of round ${round}`;
    notices.push(
      `held values${name}: ${counted(cells, "cell")} of ${counted(members.length, "column")} are ${counted(real, "reading")}`,
    );
  }
  return { rows: found, notices };
}

/** Notices first, then row by row the columns that were read in it. */
function* eventsOf(
  table: Table,
  times: RowTimes,
  readings: readonly (readonly number[])[],
  notices: readonly string[],
): Generator<RecordingEvent> {
  for (const text of notices) yield { k: "notice", t: 0, text };
  const next = readings.map(() => 0);
  for (const [row, t] of times.ms.entries()) {
    for (const [c, rows] of readings.entries()) {
      const at = next[c] ?? 0;
      if (rows[at] !== row) continue;
      next[c] = at + 1;
      const column = table.columns[c];
      const v = table.values[c]?.[times.rows[row] ?? 0];
      if (column !== undefined && v !== undefined) yield { k: "s", t, ch: column.channel, v, u: column.unit };
    }
  }
}
