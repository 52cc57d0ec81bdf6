/**
 * A file of the open data set (public data set carOBD, IEEE document 8891367) through the real importer: held values
 * collapsed, into a reading.
 */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { importCsvInto } from "../../src/recorder/import/index.ts";
import { Reading } from "../../src/reading/index.ts";

const map = join(import.meta.dirname, "../../recordings/maps/held-27-columns.json");

export function openDataFiles(folder: string): string[] {
  return readdirSync(folder)
    .filter((f) => f.endsWith(".csv.gz"))
    .sort();
}

export async function openData(folder: string, name: string): Promise<Reading> {
  const reading = new Reading(name);
  const sink = {
    zeroMs: 0,
    append: (event: Parameters<Reading["event"]>[0]): void => {
      reading.event(event);
    },
  };
  const clock = new VirtualClock();
  await importCsvInto({ csv: join(folder, name), map, clock, writer: "test", sink });
  return reading;
}
