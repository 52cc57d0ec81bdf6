/**
 * The logs of two real cars (the public data sets carOBD, IEEE document 8891367, and "Automotive OBD-II Dataset", DOI
 * 10.35097/1130) and real reply bytes of the first, found by looking alone, without a map.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/index.ts";
import { choicesOf, mapOf, stillAsked, withSystem } from "../../shared/logLook.ts";
import { importCsvInto } from "../../src/recorder/import/index.ts";
import { lookAtFile } from "../../src/recorder/import/logFile.ts";
import { Reading } from "../../src/reading/index.ts";
import { dataSet, secondCar } from "../support/tools.ts";

async function read(csv: string, map: string | object | null): Promise<Reading> {
  const reading = new Reading(csv);
  const sink = {
    zeroMs: 0,
    append: (event: Parameters<Reading["event"]>[0]): void => {
      reading.event(event);
    },
  };
  await importCsvInto({ csv, map, clock: new VirtualClock(), writer: "test", sink });
  return reading;
}

const logs = (folder: string | null): string[] =>
  folder === null ? [] : readdirSync(folder).filter((name) => name.endsWith(".csv.gz"));

describe.skipIf(dataSet === null)("the first car", () => {
  const ready = join(import.meta.dirname, "../../recordings/maps/held-27-columns.json");
  const columns = (
    JSON.parse(readFileSync(ready, "utf8")) as { columns: Record<string, { channel?: string }> }
  ).columns;

  test.each(logs(dataSet))(
    "%s: every column that is filled is the channel of the map by hand",
    async (name) => {
      const look = await lookAtFile(join(dataSet ?? "", name), null);
      expect(look).toMatchObject({
        ...{ form: "table", held: true },
        time: { column: "ENGINE_RUN_TINE", unit: "s", rows: "steady", held: true },
      });
      for (const column of look.columns)
        if (column.first.length > 0)
          expect(column.channel, column.name).toBe(columns[column.name]?.channel ?? null);
      // Its header names no unit: one answer settles those that could be US ones.
      expect(stillAsked(look, choicesOf(look)).join()).toContain("COOLANT_TEMPERATURE");
      expect(stillAsked(look, withSystem(choicesOf(look), "metric"))).toEqual([]);
    },
  );

  test("a file read by looking says the same as one read by the map by hand", async () => {
    const csv = join(dataSet ?? "", "idle2.csv.gz");
    const look = await lookAtFile(csv, null);
    const map = mapOf(look, withSystem(choicesOf(look), "metric"), "");
    const [found, byHand] = [await read(csv, map), await read(csv, ready)];
    expect(found.channels.channels).toEqual(byHand.channels.channels);
    for (const channel of found.channels.channels) {
      expect([...(found.channels.find(channel)?.values ?? [])], channel).toEqual([
        ...(byHand.channels.find(channel)?.values ?? []),
      ]);
      expect([...(found.channels.find(channel)?.times ?? [])], channel).toEqual([
        ...(byHand.channels.find(channel)?.times ?? []),
      ]);
    }
  });

  test("its raw replies are readings", async () => {
    const csv = join(dataSet ?? "", "raw-replies.txt");
    expect((await lookAtFile(csv, null)).form).toBe("replies");
    const reading = await read(csv, null);
    // 271.1 s: 0c135f is (256 * 0x13 + 0x5f) / 4 = 1239.75 rpm by J1979; 268.8 s: 3365 is 101 kPa.
    expect([...(reading.channels.find("engine-speed")?.values ?? [])]).toContain(1239.75);
    expect(reading.channels.find("barometric")?.values[0]).toBe(101);
    expect(reading.channels.channels.length).toBeGreaterThan(20);
  });
});

describe.skipIf(secondCar === null)("the second car", () => {
  test.each(logs(secondCar))("%s: clock, doubled encoding and held values are seen", async (name) => {
    const look = await lookAtFile(join(secondCar ?? "", name), null);
    expect(look).toMatchObject({ form: "table", held: true, time: { column: "Time", unit: "clock" } });
    expect(look.columns.map(({ channel, unit, how }) => [channel, unit, how])).toEqual([
      ["coolant", "°C", "sure"],
      ["manifold", "kPa", "sure"],
      ["engine-speed", "rpm", "sure"],
      ["vehicle-speed", "km/h", "sure"],
      ["intake-air", "°C", "sure"],
      ["air-flow", "g/s", "sure"],
      ["throttle", "%", "sure"],
      ["ambient", "°C", "sure"],
      ["pedal-d", "%", "sure"],
      ["pedal-e", "%", "sure"],
    ]);
    expect(stillAsked(look, choicesOf(look))).toEqual([]);
  });

  test("each channel is read about once a second, as the set's description has it", async () => {
    const csv = join(secondCar ?? "", logs(secondCar)[0] ?? "");
    const look = await lookAtFile(csv, null);
    const reading = await read(csv, mapOf(look, choicesOf(look), ""));
    for (const channel of ["engine-speed", "manifold", "air-flow", "coolant"]) {
      const series = reading.channels.find(channel);
      const seconds = ((series?.times.at(-1) ?? 0) - (series?.times[0] ?? 0)) / 1000;
      expect((series?.answered ?? 0) / seconds, channel).toBeGreaterThan(0.5);
      expect((series?.answered ?? 0) / seconds, channel).toBeLessThan(1.6);
    }
  });
});
