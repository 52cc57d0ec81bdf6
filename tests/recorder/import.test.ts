import { join } from "node:path";
import { existsSync, writeFileSync } from "node:fs";
import { gzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { importCsv, importCsvInto, type ImportResult } from "../../src/recorder/import/index.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { file, readBack, tempFolder, textOf } from "./support.ts";

const map = {
  time: { column: "Time", unit: "s" },
  columns: {
    Speed: { channel: "engine-speed", unit: "rpm" },
    Coolant: { channel: "coolant", unit: "°C" },
  },
};

type Sample = readonly [t: number, channel: string, value: number | null];

interface Imported {
  readonly samples: Sample[];
  readonly told: string[];
  readonly result: ImportResult;
  readonly path: string;
}

async function imported(
  csv: string | Uint8Array,
  columns: object = map,
  name = "log.csv",
): Promise<Imported> {
  const path = join(tempFolder(), "out.ndjson");
  const result = await importCsv({
    csv: file(csv, name),
    map: columns,
    out: path,
    clock: new VirtualClock(),
    writer: "crankside test",
  });
  const { events } = await readBack(path);
  return {
    samples: events.filter((e) => e.k === "s").map((e) => [e.t, e.ch, e.v]),
    told: events.filter((e) => e.k === "notice").map((e) => e.text),
    result,
    path,
  };
}

async function refusal(csv: string | Uint8Array, columns: object = map): Promise<unknown> {
  try {
    await imported(csv, columns);
  } catch (error) {
    return error;
  }
  throw new Error("the CSV was taken");
}

test("rows become samples in the channel's own unit, in a recording that is whole", async () => {
  const { samples, result, path, told } = await imported("Time,Speed,Coolant\n0,800,20\n0.5,812.25,21\n");
  expect(samples).toEqual([
    [0, "engine-speed", 800],
    [0, "coolant", 20],
    [500, "engine-speed", 812.25],
    [500, "coolant", 21],
  ]);
  expect(result).toMatchObject({ rows: 2, samples: 4, channels: 2 });
  expect(result.notices).toEqual(told);
  const { header, events } = await readBack(path);
  expect(header).toMatchObject({ from: "import:log.csv", adapter: null, protocol: null, invented: false });
  expect(events.filter((e) => e.k === "s").map((e) => e.u)).toEqual(["rpm", "°C", "rpm", "°C"]);
  expect(await verifyRecording(path)).toMatchObject({ state: "whole", lastTime: 500 });
});

test("the same from a compressed file, with a byte order mark, CRLF and a trailing comma", async () => {
  const csv = "\uFEFFTime (),Speed (),Coolant ()\r\n0,800,20,\r\n1, 900.000,21,\r\n";
  const { samples, result } = await imported(gzipSync(csv), map, "log.csv.gz");
  expect(samples.map((s) => s[2])).toEqual([800, 20, 900, 21]);
  // Nothing is wrong with it; only the start is not in the file.
  expect(result.notices).toHaveLength(1);
});

test("US units are turned into the table's; semicolons and decimal commas are read", async () => {
  const { samples } = await imported("Zeit;t;v;p\n0,5;212;62,137119;29,53\n", {
    delimiter: ";",
    decimal: ",",
    time: { column: "Zeit", unit: "min" },
    columns: {
      t: { channel: "coolant", unit: "°F" },
      v: { channel: "vehicle-speed", unit: "mph" },
      p: { channel: "barometric", unit: "inHg" },
    },
  });
  // 212 °F boils water at 100 °C; 62.137119 mph are 100 km/h; 29.53 inHg are 100 kPa (NIST SP 811).
  expect(samples[0]?.[2]).toBe(100);
  expect(samples[1]?.[2]).toBeCloseTo(100, 5);
  expect(samples[2]?.[2]).toBeCloseTo(100, 3);
});

test("times of day give the start", async () => {
  const iso = { ...map, time: { column: "Time", unit: "ISO 8601" } };
  const { samples, path, result } = await imported(
    "Time,Speed,Coolant\n2024-05-04T10:00:00.250+02:00,800,20\n2024-05-04T08:00:01Z,900,20\n",
    iso,
  );
  expect(samples.map((s) => s[0])).toEqual([0, 0, 750, 750]);
  expect(Date.parse((await readBack(path)).header.started)).toBe(Date.UTC(2024, 4, 4, 8, 0, 0, 250));
  expect(result.notices).toEqual([]);
});

test("milliseconds, and rows that go back in time", async () => {
  const { samples, told } = await imported(
    "Time,Speed,Coolant\n1000,1,20\n1010,2,20\n1005,3,20\n1020,4,20\n",
    { ...map, time: { column: "Time", unit: "ms" } },
  );
  expect(samples.filter((s) => s[1] === "engine-speed").map((s) => [s[0], s[2]])).toEqual([
    [0, 1],
    [10, 2],
    [20, 4],
  ]);
  expect(told.some((n) => n.startsWith("1 row dropped"))).toBe(true);
});

test("defects are told with count and first line, and the good cells and rows are kept", async () => {
  const { samples, result } = await imported(
    [
      "Time,Speed,Coolant,Extra",
      "0,800,20,1",
      "1,n/a,21,1",
      "2,820,,1",
      "",
      "3,830",
      "four,840,24,1",
      "5,850,25,1",
      "6,NaN,0x1A,1",
      "7,860,27,1,1,1",
      "8,870,28,1",
      "",
    ].join("\n"),
  );
  expect(samples.filter((s) => s[1] === "engine-speed").map((s) => s[2])).toEqual([800, 820, 850, 870]);
  expect(samples.filter((s) => s[1] === "coolant").map((s) => s[2])).toEqual([20, 21, 25, 28]);
  expect(result.rows).toBe(6);
  const told = (part: string): string | undefined => result.notices.find((n) => n.includes(part));
  expect(told("Extra")).toBeDefined();
  expect(told("blank line")).toContain("line 5");
  expect(told("without a time")).toContain("line 7");
  expect(told("without a number")).toContain("line 3");
  expect(told("empty cell")).toContain("line 4");
  expect(told("fewer than 4 fields")).toMatch(/^2 rows.*line 6 with 2/);
});

test("rows that are all shorter than the names leave the last columns without values", async () => {
  const { samples, result } = await imported("Time,Speed,Coolant\n0,800\n1,810\n");
  expect(samples.map((s) => s[1])).toEqual(["engine-speed", "engine-speed"]);
  expect(result.channels).toBe(1);
  expect(result.notices.some((n) => n.includes("Coolant"))).toBe(true);
});

test("the last value of a file that does not end is not believed", async () => {
  const whole = await imported("Time,Speed,Coolant\n0,800,120\n1,810,121\n");
  const cut = await imported("Time,Speed,Coolant\n0,800,120\n1,810,12");
  expect(whole.samples).toHaveLength(4);
  expect(cut.samples).toEqual(whole.samples.slice(0, 3));
});

test("a last row that is cut within a number is dropped where rows end in a comma", async () => {
  const cut = await imported("Time,Speed,Coolant\n0,800,120,\n1,810,121,\n2,820,12");
  expect(cut.samples.map((s) => s[2])).toEqual([800, 120, 810, 121]);
});

test("held values are collapsed to readings, and the time column helps to tell rounds", async () => {
  const held = {
    time: { column: "Time", unit: "s", rows: "steady", held: true },
    columns: {
      Speed: { channel: "engine-speed", unit: "rpm", held: true },
      Coolant: { channel: "coolant", unit: "°C", held: true },
    },
  };
  // Read every two rows; speed repeats its value once, coolant always.
  const rows = [
    "0,800,88",
    "0,800,88",
    "1,810,88",
    "1,810,88",
    "2,810,88",
    "2,810,88",
    "3,820,88",
    "3,820,88",
  ];
  const { samples, told } = await imported(`Time,Speed,Coolant\n${rows.join("\n")}\n`, held);
  const of = (channel: string): (number | null)[] => samples.filter((s) => s[1] === channel).map((s) => s[2]);
  expect(of("engine-speed")).toEqual([800, 810, 810, 820]);
  expect(of("coolant")).toEqual([88, 88, 88, 88]);
  expect(samples.filter((s) => s[1] === "coolant").map((s) => s[0])).toEqual([0, 1000, 2000, 3000]);
  expect(told.some((n) => n.includes("16 cells of 2 columns are 8 readings"))).toBe(true);
});

test("columns of two rounds do not disturb each other", async () => {
  const two = {
    time: { column: "Time", unit: "ms" },
    columns: {
      Speed: { channel: "engine-speed", unit: "rpm", held: "fast" },
      Coolant: { channel: "coolant", unit: "°C", held: "slow" },
      Intake: { channel: "intake-air", unit: "°C", held: "slow" },
    },
  };
  const rows = Array.from(
    { length: 40 },
    (_, i) => `${i * 100},${800 + Math.floor(i / 2)},${40 + Math.floor(i / 10)},20`,
  );
  const { samples } = await imported(`Time,Speed,Coolant,Intake\n${rows.join("\n")}\n`, two);
  const count = (channel: string): number => samples.filter((s) => s[1] === channel).length;
  expect(count("engine-speed")).toBe(20);
  expect(count("coolant")).toBe(4);
  expect(count("intake-air")).toBe(4);
});

test("the samples can go into a sink of one's own", async () => {
  const events: RecordingEvent[] = [];
  const result = await importCsvInto({
    csv: file("Time,Speed,Coolant\n0,800,20\n", "log.csv"),
    map,
    clock: new VirtualClock(),
    writer: "test",
    sink: { zeroMs: 0, append: (event) => events.push(event) },
  });
  expect(events.filter((e) => e.k === "s")).toHaveLength(result.samples);
  expect(events.some((e) => e.k === "end")).toBe(false);
});

test.each([
  ["an empty file", "", "csv-columns"],
  ["a missing column", "Time,Speed\n0,800\n", "csv-columns"],
  ["another delimiter", "Time;Speed;Coolant\n0;800;20\n", "csv-columns"],
  ["a name that is there twice", "Time,Speed,Coolant,Speed\n0,800,20,3\n", "csv-columns"],
  ["names only", "Time,Speed,Coolant\n", "csv-values"],
  ["no time in any row", "Time,Speed,Coolant\nx,800,20\ny,800,20\n", "csv-values"],
  ["a row without end", `Time,Speed,Coolant\n0,"${"8".repeat(2_000_000)}\n`, "csv-values"],
  ["something that is no text at all", Buffer.from("89504e470d0a1a0a00000d", "hex"), "csv-columns"],
])("%s is refused", async (_, csv, code) => {
  expect(await refusal(csv)).toMatchObject({ code });
});

test("nothing is left behind when the import is refused, and an existing file is not written over", async () => {
  const path = join(tempFolder(), "out.ndjson");
  const options = { map, out: path, clock: new VirtualClock(), writer: "test" };
  await expect(importCsv({ ...options, csv: file("Time,Speed\n0,1\n") })).rejects.toMatchObject({
    code: "csv-columns",
  });
  await expect(importCsv({ ...options, csv: join(tempFolder(), "none.csv") })).rejects.toMatchObject({
    code: "file-missing",
  });
  expect(existsSync(path)).toBe(false);
  writeFileSync(path, "precious");
  const csv = file("Time,Speed,Coolant\n0,800,20\n");
  await expect(importCsv({ ...options, csv })).rejects.toMatchObject({ code: "file-exists" });
  expect(textOf(path)).toBe("precious");
});
