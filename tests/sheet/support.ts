/** Jobs and recordings for the tests of the sheet, made without a disk. */
import { VehicleRanges } from "../../src/interpret/report/ranges.ts";
import { regimeSpans } from "../../src/interpret/folds/regimeSpans.ts";
import { Reading } from "../../src/reading/index.ts";
import type { TiedRecording, Sources } from "../../src/sheet/tied.ts";
import { checkJob, newJob, type JobDocument, type Tie } from "../../src/sheet/job.ts";

export const sha = "a".repeat(64);
export const tie: Tie = { file: "first.ndjson", bytes: 10, sha256: sha };
export const created = "2024-03-02T09:00:00.000+01:00";

/** Readings of speed and volts every 100 ms for so many seconds, and what else is given as lines. */
export function readingOf(
  seconds: number,
  extra: readonly object[] = [],
  from = "bench:garden-van",
): Reading {
  const reading = new Reading("first.ndjson");
  const header = {
    format: "crankside-recording",
    version: 1,
    started: created,
    from,
    adapter: null,
    protocol: null,
    vehicle: {},
    invented: from.startsWith("bench:"),
    writer: "test",
  };
  const lines: object[] = [header];
  for (let t = 0; t <= seconds * 1000; t += 100) {
    const turning = t > 2000 && t < 6000;
    lines.push({ t, k: "s", ch: "engine-speed", v: turning ? 180 + (t % 700) / 100 : 0, u: "rpm" });
    lines.push({ t, k: "s", ch: "socket-voltage", v: turning ? 10.1 : 12.5, u: "V" });
    lines.push({ t, k: "s", ch: "coolant", v: -5, u: "°C" });
  }
  for (const line of [...lines, ...extra]) reading.push(`${JSON.stringify(line)}\n`);
  reading.finish();
  return reading;
}

export function sourcesOf(
  reading: Reading | null,
  photos: ReadonlyMap<string, Uint8Array> = new Map(),
): Sources {
  const evidence: TiedRecording =
    reading === null
      ? { state: "missing", source: null }
      : {
          state: "fits",
          source: {
            reading,
            spans: regimeSpans(reading.channels, reading.lastTime, {}),
            ranges: new VehicleRanges({}),
          },
        };
  return { evidence: () => evidence, photo: (id) => photos.get(id) ?? null };
}

/** A job with these fields, checked as one that was read. */
export function jobWith(fields: Readonly<Record<string, unknown>>): JobDocument {
  return checkJob({ ...newJob("2024-03-02-van", created), ...fields }, "test");
}

export const recordingItem = {
  order: 1,
  tie,
  started: created,
  from: "bench:garden-van",
  invented: true,
  caption: "",
};

export const clip = {
  order: 1,
  section: "cranks",
  tie,
  from: 0,
  to: 8000,
  lanes: [["engine-speed"], ["socket-voltage"], ["coolant"]],
  caption: "A crank",
};
