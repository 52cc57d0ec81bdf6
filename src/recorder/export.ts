/** Writes what a recording decodes to as CSV (RFC 4180: comma, CRLF, quotes where needed). */
import { createWriteStream } from "node:fs";
import type { Writable } from "node:stream";
import { finished } from "node:stream/promises";
import type { Series } from "../../shared/channels.ts";
import { inWords, type ChannelInfo } from "../../shared/decode.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { Reading } from "../reading/index.ts";
import { csvLine, textCell } from "../sheet/csv.ts";
import { isoWithZoneOf } from "./names.ts";
import { systemCode, unwritable } from "./problems.ts";
import { openRecording } from "./open.ts";

export interface ExportOptions {
  /**
   * A row every so many milliseconds, from 1; each cell is the last reading that is not older than `maxAgeMs`.
   * Without it a row for each time at which anything was read, and only what was read then.
   */
  readonly everyMs?: number;
  /** 5000 where not given. */
  readonly maxAgeMs?: number;
  /** A new file, or a stream, which stays open; standard output where not given. */
  readonly out?: string | Writable;
  readonly onProgress?: (rows: number) => void;
  /** The recording was read, and rows come now. */
  readonly onBegin?: () => void;
}

export interface ExportSummary {
  readonly rows: number;
  readonly columns: number;
}

export const defaultMaxAgeMs = 5000;

/** A grid finer than a recording can be, over hours, would only fill the disk. */
const mostRows = 50_000_000;

/**
 * First column: seconds since the start. Second: the same as wall time. Then one for each channel of each module,
 * `channel@module (unit)`. Enumerations, bit fields and codes are in words. A text that a spreadsheet would take for a
 * formula is told apart from one (`textCell`). Asked and unanswered is an empty cell.
 * Rejects as `readRecording` does, and with `wrong-use`, `file-exists` or `file-unwritable`.
 */
export async function exportCsv(path: string, options: ExportOptions = {}): Promise<ExportSummary> {
  const { everyMs } = options;
  if (everyMs !== undefined && !(everyMs >= 1)) {
    throw new CranksideError("wrong-use", "rows cannot be that close together", {
      expected: "1 ms or more",
      found: `${everyMs} ms`,
    });
  }
  const { reading, started } = await openRecording(path);
  const columns = columnsOf(reading);
  const last = columns.reduce((t, c) => Math.max(t, c.series.length === 0 ? 0 : c.series.lastTime), 0);
  if (everyMs !== undefined && last / everyMs > mostRows) {
    throw new CranksideError("wrong-use", "too many rows", {
      expected: `at most ${mostRows}`,
      found: `${Math.ceil(last / everyMs)} rows, every ${everyMs} ms`,
      where: path,
    });
  }
  const rows =
    everyMs === undefined
      ? readRows(columns)
      : gridRows(columns, { everyMs, last, maxAgeMs: options.maxAgeMs ?? defaultMaxAgeMs });
  const wall = isoWithZoneOf(started);
  const out = options.out ?? process.stdout;
  options.onBegin?.();
  const count = await pour(csvLines(columns, rows, wall), out, options.onProgress);
  return { rows: count, columns: columns.length };
}

interface Column {
  readonly series: Series;
  readonly info: ChannelInfo;
}

interface Row {
  readonly t: number;
  readonly cells: readonly string[];
}

function columnsOf(reading: Reading): Column[] {
  return reading.channels
    .all()
    .filter((series) => series.answered > 0)
    .map((series) => ({ series, info: reading.info(series.channel) }));
}

function* csvLines(
  columns: readonly Column[],
  rows: Iterable<Row>,
  wall: (t: number) => string,
): Generator<string> {
  const names = columns.map(({ series, info }) => {
    const module = series.module === "" ? "" : `@${series.module}`;
    return textCell(`${series.channel}${module} (${info.unit})`);
  });
  yield csvLine(["time (s)", "time (ISO 8601)", ...names]);
  for (const { t, cells } of rows) yield csvLine([seconds(t), wall(t), ...cells]);
}

/** A row for each time at which anything was read. */
function* readRows(columns: readonly Column[]): Generator<Row> {
  const next = columns.map(() => 0);
  for (;;) {
    let t = Number.POSITIVE_INFINITY;
    columns.forEach(({ series }, c) => {
      t = Math.min(t, series.times[next[c] ?? 0] ?? Number.POSITIVE_INFINITY);
    });
    if (t === Number.POSITIVE_INFINITY) return;
    const cells = columns.map((column, c) => {
      let text = "";
      let at = next[c] ?? 0;
      for (; column.series.times[at] === t; at++) text = cell(column, column.series.values[at]);
      next[c] = at;
      return text;
    });
    if (cells.some((text) => text !== "")) yield { t, cells };
  }
}

function* gridRows(
  columns: readonly Column[],
  grid: { everyMs: number; last: number; maxAgeMs: number },
): Generator<Row> {
  for (let n = 0; n * grid.everyMs <= grid.last + grid.everyMs / 2; n++) {
    const t = n * grid.everyMs;
    const cells = columns.map((column) => {
      const reading = column.series.at(t);
      return reading === null || t - reading.t > grid.maxAgeMs ? "" : cell(column, reading.value);
    });
    yield { t, cells };
  }
}

function cell({ info }: Column, value: number | undefined): string {
  if (value === undefined || Number.isNaN(value)) return "";
  if (info.unit === "state" || info.unit === "bits" || info.unit === "code")
    return textCell(inWords(info, value, "metric"));
  // Ten digits are more than any parameter carries, and hide what binary fractions add.
  return String(Number(value.toPrecision(10)));
}

function seconds(t: number): string {
  return (t / 1000).toFixed(6).replace(/\.?0+$/, "");
}

/** Lines are handed on in pieces of this many characters. */
const pieceLength = 64 * 1024;

async function pour(
  lines: Iterable<string>,
  out: string | Writable,
  onProgress?: (rows: number) => void,
): Promise<number> {
  const where = typeof out === "string" ? out : "the output";
  const stream = typeof out === "string" ? createWriteStream(out, { flags: "wx" }) : out;
  const state: { failed: Error | null } = { failed: null };
  const onError = (error: Error): void => {
    state.failed = error;
  };
  stream.on("error", onError);
  let rows = -1;
  let piece = "";
  try {
    for (const line of lines) {
      rows += 1;
      piece += line;
      if (piece.length < pieceLength) continue;
      await write(stream, piece);
      piece = "";
      onProgress?.(rows);
      if (state.failed !== null) break;
    }
    await write(stream, piece);
    if (typeof out === "string") {
      stream.end();
      await finished(stream);
    }
    if (state.failed !== null) throw state.failed;
  } catch (error) {
    // Whoever reads the output may have seen enough, as `head` does.
    if (systemCode(error) === "EPIPE" && typeof out !== "string") return rows;
    if (systemCode(error) === "EEXIST") {
      throw new CranksideError(
        "file-exists",
        "the file is already there and is not written over",
        { where },
        error,
      );
    }
    throw unwritable(where, error);
  } finally {
    // A stream of our own may report its failure once more after this.
    if (typeof out !== "string") stream.off("error", onError);
  }
  return rows;
}

function write(stream: Writable, text: string): Promise<void> {
  return new Promise((resolve, reject) => {
    stream.write(text, (error) => {
      if (error === null || error === undefined) resolve();
      else reject(error);
    });
  });
}
