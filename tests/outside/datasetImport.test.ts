/**
 * Real logs with their real defects become recordings. Source: data set carOBD (repository eron93br/carOBD, commit
 * bf09e1c); cited as "Detecting Anomalies in the Engine Coolant Sensor Using One-Class Classifiers", IEEE, document
 * 8891367. Rows come every 0.4923 s, each parameter is re-read every 1.81 s on average and held in between.
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { afterAll, describe, expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { importCsv, type ImportResult } from "../../src/recorder/import/index.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { ChannelStore } from "../../shared/channels.ts";
import { dataSet } from "../support/tools.ts";

const map = join(import.meta.dirname, "../../recordings/maps/held-27-columns.json");
const folder = mkdtempSync(join(tmpdir(), "crankside-data-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Taken {
  readonly result: ImportResult;
  readonly path: string;
  readonly store: ChannelStore;
}

const taken = new Map<string, Promise<Taken>>();

/** Each file is imported once, for all tests. */
function take(file: string): Promise<Taken> {
  const before = taken.get(file) ?? importAndRead(file);
  taken.set(file, before);
  return before;
}

async function importAndRead(file: string): Promise<Taken> {
  const path = join(folder, `${file}.ndjson`);
  const clock = new VirtualClock(undefined, 64);
  const result = await importCsv({ csv: join(dataSet ?? "", file), map, out: path, clock, writer: "test" });
  const store = new ChannelStore();
  await readRecording(path, {
    header: () => undefined,
    event: (event) => {
      if (event.k === "s" && !store.append(event.ch, "", event.t, event.v ?? Number.NaN)) {
        throw new Error(`${event.ch} goes back in time at ${event.t}`);
      }
    },
    notice: (notice) => {
      throw new Error(`line ${notice.line}: ${notice.text}`);
    },
  });
  return { result, path, store };
}

function linesOf(file: string): string[] {
  return gunzipSync(readFileSync(join(dataSet ?? "", file)))
    .toString("latin1")
    .split(/\r?\n/);
}

/** What an import tells that is no defect of the file. */
const ordinary = /^(the file does not say when|rows are a steady|the time column moved|held values)/;

const withDefects: Readonly<Record<string, RegExp>> = {
  "idle2.csv.gz": /^1 blank line .* line 1227$/,
  "live6.csv.gz": /^(rows have 24 fields under 27 names|1 blank line)/,
  "live16.csv.gz":
    /^(1 row with more or fewer than 28 fields dropped, the first is line 3083 with 18|INTAKE_AIR_TEMP)/,
};

/** Pauses of the logger between rows: their rows are not steady. */
const uneven = new Set(["live6.csv.gz", "live9.csv.gz"]);

describe.skipIf(dataSet === null)("open data set carOBD", () => {
  const files = dataSet === null ? [] : readdirSync(dataSet).filter((name) => name.endsWith(".csv.gz"));

  test.each(files)("%s imports, with its defects told and its values kept", async (file) => {
    const { result, path, store } = await take(file);
    expect((await verifyRecording(path)).state).toBe("whole");
    const defects = result.notices.filter((n) => !ordinary.test(n));
    const expected = withDefects[file];
    if (expected === undefined) expect(defects).toEqual([]);
    else {
      expect(defects.length).toBeGreaterThan(0);
      for (const defect of defects) expect(defect).toMatch(expected);
    }
    const rows = linesOf(file)
      .slice(1)
      .map((line) => line.split(",").map((cell) => cell.trim()))
      .filter((cells) => cells.length >= 24);
    expect(result.rows).toBe(rows.length);
    // Column 1 is engine speed: the readings, repeats taken out, are the rows, repeats taken out.
    const series = store.find("engine-speed");
    expect(changesOf(series?.values ?? [])).toEqual(changesOf(rows.map((cells) => Number(cells[1]))));
    expect(store.channels).toHaveLength(result.channels);
    expect(result.channels).toBe(file === "live6.csv.gz" ? 22 : 25);
  });

  test.each(files)(
    "%s: a held value is one reading, and a reading again of the same value another",
    async (file) => {
      const { store } = await take(file);
      for (const channel of ["engine-speed", "coolant", "module-voltage", "barometric", "pedal-d"]) {
        const times = store.find(channel)?.times ?? new Float64Array();
        // From the first change on: at key-on nothing may change for some rounds, and nothing is assumed.
        const after = Array.from(times).filter((t) => t > 10_000);
        const mean = ((after.at(-1) ?? 0) - (after[0] ?? 0)) / (after.length - 1) / 1000;
        if (uneven.has(file)) {
          expect(mean, channel).toBeGreaterThan(1.9);
          expect(mean, channel).toBeLessThan(2.2);
          continue;
        }
        expect(mean, channel).toBeGreaterThan(1.79);
        expect(mean, channel).toBeLessThan(1.84);
        // A 10 s window carries 5 or 6 readings.
        const counts = windows(after, 10_000);
        const usual = counts.filter((n) => n === 5 || n === 6).length;
        expect(usual / counts.length, channel).toBeGreaterThan(0.97);
      }
    },
  );

  test.each(files.filter((file) => !uneven.has(file)))(
    "%s: rows lie 0.49 s apart and span the file's time",
    async (file) => {
      const { result, store } = await take(file);
      const pace = /steady (\d\.\d+) s apart/.exec(result.notices.join("\n"))?.[1];
      expect(Math.abs(Number(pace) - 0.4923)).toBeLessThan(0.003);
      const times = store.find("engine-speed")?.times ?? new Float64Array();
      expect(Math.abs((times.at(-1) ?? 0) / 1000 - result.rows * 0.4923)).toBeLessThan(4);
    },
  );
});

function changesOf(values: ArrayLike<number>): number[] {
  return Array.from(values).filter((v, i, all) => i === 0 || v !== all[i - 1]);
}

/** How many times fall into each window of this width, the last partial one left out. */
function windows(times: readonly number[], width: number): number[] {
  const counts: number[] = [];
  const start = times[0] ?? 0;
  for (const t of times) {
    const at = Math.floor((t - start) / width);
    counts[at] = (counts[at] ?? 0) + 1;
  }
  // A window without any reading is a hole in the list.
  return Array.from(counts.slice(0, -1), (n: number | undefined) => n ?? 0);
}
