/**
 * Files of the open data sets through the real importer, held values collapsed, into a reading: `carobd` (public data
 * set carOBD, IEEE document 8891367) and `second-car` (DOI 10.35097/1130).
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { gunzipSync } from "node:zlib";
import { VirtualClock } from "../../adapters/link/clock.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { importCsvInto } from "../../src/recorder/import/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { KeptEvents } from "./keptEvents.ts";

const map = join(import.meta.dirname, "../../recordings/maps/held-27-columns.json");

export function openDataFiles(folder: string): string[] {
  return readdirSync(folder)
    .filter((f) => f.endsWith(".csv.gz"))
    .sort();
}

/** Changes a value on its way: what a fault would have put into it. */
export type Change = (channel: string, value: number, t: number) => number;

/** Importing takes nine parts of ten: each file is imported once in a process. */
const kept = new Map<string, Promise<KeptEvents>>();

/** A file of either set, told by the folder's name. */
export async function openData(folder: string, name: string, change?: Change): Promise<Reading> {
  const key = join(folder, name);
  const importing =
    kept.get(key) ??
    (basename(folder) === "second-car" ? secondCar(folder, name) : imported(join(folder, name), map));
  kept.set(key, importing);
  const reading = new Reading(name);
  for (const event of (await importing).events())
    reading.event(
      event.k === "s" && event.v !== null && change !== undefined
        ? { ...event, v: change(event.ch, event.v, event.t) }
        : event,
    );
  return reading;
}

async function imported(csv: string, columns: string | object): Promise<KeptEvents> {
  const events = new KeptEvents();
  const sink = { zeroMs: 0, append: (event: RecordingEvent) => events.append(event) };
  const clock = new VirtualClock(undefined, 64);
  await importCsvInto({ csv, map: columns, clock, writer: "test", sink });
  return events;
}

const held = true;
/** Columns of the second car in their order, behind the time. */
const secondColumns = {
  c1: { channel: "coolant", unit: "°C", held },
  c2: { channel: "manifold", unit: "kPa", held },
  c3: { channel: "engine-speed", unit: "rpm", held },
  c4: { channel: "vehicle-speed", unit: "km/h", held },
  c5: { channel: "intake-air", unit: "°C", held },
  c6: { channel: "air-flow", unit: "g/s", held },
  c7: { channel: "throttle", unit: "%", held },
  c8: { channel: "ambient", unit: "°C", held },
  c9: { channel: "pedal-d", unit: "%", held },
  c10: { channel: "pedal-e", unit: "%", held },
};

/** Its times are a clock without a date, which may pass midnight; its header is encoded twice. */
async function secondCar(folder: string, name: string): Promise<KeptEvents> {
  const lines = gunzipSync(readFileSync(join(folder, name)))
    .toString("utf8")
    .split(/\r?\n/)
    .slice(1);
  let days = 0;
  let last = 0;
  const rows = lines.flatMap((line) => {
    const [clock = "", ...values] = line.split(",");
    const [h, m, s] = clock.split(":").map(Number);
    if (h === undefined || m === undefined || s === undefined) return [];
    const ofDay = h * 3600 + m * 60 + s;
    if (ofDay < last - 43_200) days += 1;
    last = ofDay;
    return [[(ofDay + days * 86_400).toFixed(3), ...values].join(",")];
  });
  const temporary = mkdtempSync(join(tmpdir(), "crankside-second-"));
  try {
    const csv = join(temporary, "trip.csv");
    writeFileSync(csv, [["t", ...Object.keys(secondColumns)].join(","), ...rows].join("\n"));
    const secondMap = { time: { column: "t", unit: "s" }, columns: secondColumns };
    return await imported(csv, secondMap);
  } finally {
    rmSync(temporary, { recursive: true, force: true });
  }
}
