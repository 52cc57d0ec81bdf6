/** Logs of every form, found by looking and imported without a map. */
import fc from "fast-check";
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { choicesOf, stillAsked, withSystem, type Choice, type LogLook } from "../../shared/logLook.ts";
import { lookAtFile } from "../../src/recorder/import/logFile.ts";
import { importLog, mapsFolder } from "../../src/recorder/import/logs.ts";
import { file, readBack, tempFolder } from "./support.ts";

interface Found {
  readonly look: LogLook;
  readonly samples: readonly (readonly [number, string, number | null])[];
  readonly notices: readonly string[];
  readonly started: string;
}

async function taken(
  csv: string | Uint8Array,
  how: { readonly system?: "metric" | "us"; readonly own?: string; readonly keep?: boolean } = {},
): Promise<Found> {
  const { system, own = tempFolder(), keep = false } = how;
  const path = file(csv, "log.csv");
  const look = await lookAtFile(path, mapsFolder(own));
  const choices: Choice[] = system === undefined ? choicesOf(look) : withSystem(choicesOf(look), system);
  expect(stillAsked(look, choices)).toEqual([]);
  const common = { csv: path, name: "log.csv", out: null, clock: new VirtualClock(), writer: "test" };
  const result = await importLog({ ...common, look, choices, own, keep });
  const { events, header } = await readBack(result.path);
  const samples = events.filter((e) => e.k === "s").map((e) => [e.t, e.ch, e.v] as const);
  return { look, samples, notices: result.notices, started: header.started };
}

const only = (found: Found, channel: string): (number | null)[] =>
  found.samples.filter(([, ch]) => ch === channel).map(([, , v]) => v);

test("units in the header, commas, points: nothing has to be asked", async () => {
  const found = await taken(
    "Time (s),RPM (rpm),ECT (°F),MAF (kg/h)\n0.0,800,212,36\n0.1,812.5,212,72\n0.2,820,211,3.6\n",
  );
  expect(found.samples.slice(0, 3)).toEqual([
    [0, "engine-speed", 800],
    [0, "coolant", 100],
    [0, "air-flow", 10],
  ]);
  expect(found.samples.at(-1)?.[0]).toBe(200);
});

test("semicolons, decimal commas, units in cells", async () => {
  const found = await taken(
    "Time;Engine RPM;MAP;Throttle\n0,0;800rpm;100kPa;48,60%\n0,5;810rpm;98,5kPa;48,60 %\n1,0;820rpm;1,01bar;12%\n",
  );
  expect(found.look).toMatchObject({ delimiter: ";", decimal: "," });
  expect(only(found, "engine-speed")).toEqual([800, 810, 820]);
  expect(only(found, "throttle")).toEqual([48.6, 48.6, 12]);
  expect(only(found, "manifold")[1]).toBe(98.5);
  // A cell that says another unit of the same kind is converted by its own.
  expect(only(found, "manifold")[2]).toBeCloseTo(101, 9);
});

test("the unit of what the file does not say is asked, once for all; the wrong kind of unit never fits", async () => {
  const csv = "Time,RPM,Speed,Coolant\n0,800,0,180\n1,900,5,181\n2,950,10,182\n";
  const look = await lookAtFile(file(csv, "x.csv"), null);
  expect(look.columns.map(({ channel, unit }) => [channel, unit])).toEqual([
    ["engine-speed", "rpm"],
    ["vehicle-speed", null],
    ["coolant", null],
  ]);
  expect(stillAsked(look, choicesOf(look)).join(" ")).toContain("Speed, Coolant");
  const found = await taken(csv, { system: "us" });
  expect(only(found, "coolant")[0]).toBeCloseTo(82.22, 2);
  expect(only(found, "vehicle-speed")[2]).toBeCloseTo(16.09, 2);
  const other = await lookAtFile(file("Time,Speed [rpm]\n0,800\n1,900\n2,950\n", "y.csv"), null);
  expect(other.columns[0]).toMatchObject({ channel: "engine-speed", unit: "rpm" });
});

test.each([
  ["seconds", "Time [s]", ["10", "10.5", "11"], [0, 500, 1000]],
  ["milliseconds that are not said", "Time", ["1000", "1100", "1200"], [0, 100, 200]],
  ["a clock past midnight", "Time", ["23:59:59.500", "00:00:00.000", "00:00:00.250"], [0, 500, 750]],
  ["a clock of twelve hours", "Time", ["11:59:59 AM", "12:00:00 PM", "1:00:00 PM"], [0, 1000, 3_601_000]],
  [
    "a date that is not read, with a clock",
    "Date Time",
    ["31.05.2024 07:04:05", "31.05.2024 07:04:06", "31.05.2024 07:04:08"],
    [0, 1000, 3000],
  ],
  [
    "ISO 8601",
    "timestamp",
    ["2024-05-31T07:04:05.250+02:00", "2024-05-31T05:04:06.250Z", "2024-05-31 05:04:07,250Z"],
    [0, 1000, 2000],
  ],
  ["seconds since 1970", "timestamp", ["1717138800.5", "1717138801", "1717138802"], [0, 500, 1500]],
  [
    "milliseconds since 1970",
    "timestamp",
    ["1717138800500", "1717138801000", "1717138802000"],
    [0, 500, 1500],
  ],
] as const)("time as %s", async (_, name, times, expected) => {
  const rows = times.map((time, i) => `${time};${800 + i};12`).join("\n");
  const found = await taken(`${name};RPM;Batt Volts [V]\n${rows}\n`);
  expect(found.samples.filter(([, ch]) => ch === "engine-speed").map(([t]) => t)).toEqual(expected);
});

test("a time since 1970 gives the start; a clock does not, and says so", async () => {
  const epoch = await taken(
    "timestamp,RPM,MAP [kPa]\n1717138800500,1,2\n1717138801000,2,2\n1717138802000,3,2\n",
  );
  expect(Date.parse(epoch.started)).toBe(1_717_138_800_500);
  const clock = await taken("Time,RPM,MAP [kPa]\n07:00:00,1,2\n07:00:01,2,2\n07:00:02,3,2\n");
  expect(clock.notices.join(" ")).toContain("the time of day and no date");
});

test("a row a reading: number, value and unit; by name, and by hexadecimal or decimal number", async () => {
  const byName = await taken(
    "seconds;name;value;unit\n0;Engine RPM;800;rpm\n0,1;Coolant Temp;90,5;°C\n0,2;Engine RPM;810;rpm\n0,3;Coolant Temp;91;°C\n",
  );
  expect(byName.look.form).toBe("long");
  expect(byName.samples).toEqual([
    [0, "engine-speed", 800],
    [100, "coolant", 90.5],
    [200, "engine-speed", 810],
    [300, "coolant", 91],
  ]);
  for (const [speed, coolant] of [
    ["0C", "05"],
    ["12", "5"],
    ["010C", "0105"],
    ["0x0C", "0x05"],
  ] as const) {
    const found = await taken(
      `seconds;number;value;unit\n0;${speed};800;rpm\n1;${coolant};194;°F\n2;${speed};810;rpm\n3;${coolant};194;°F\n`,
    );
    expect(only(found, "engine-speed"), speed).toEqual([800, 810]);
    expect(only(found, "coolant"), speed).toEqual([90, 90]);
  }
});

test("words above the header, a row of units under it, and the header again in the middle", async () => {
  const found = await taken(
    "A log of my car\nMade on a Tuesday\n\nTime,RPM,ECT\ns,rpm,°F\n0,800,212\n1,900,212\nTime,RPM,ECT\n2,950,212\n",
  );
  expect(found.samples.map(([t, , v]) => [t, v])).toEqual(
    [0, 1000, 2000].flatMap((t, i) => [
      [t, [800, 900, 950][i]],
      [t, 100],
    ]),
  );
  expect(found.notices.join(" ")).toContain("1 repeated header row");
});

test.each([
  [
    "UTF-16, little end first, with a mark",
    (text: string) => Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(text, "utf16le")]),
  ],
  [
    "UTF-16, big end first, with a mark",
    (text: string) => Buffer.concat([Buffer.from([0xfe, 0xff]), Buffer.from(text, "utf16le").swap16()]),
  ],
  ["UTF-16 without a mark", (text: string) => Buffer.from(text, "utf16le")],
  ["UTF-8 with a mark", (text: string) => Buffer.from(`\uFEFF${text}`, "utf8")],
  ["windows-1252", (text: string) => Buffer.from(text, "latin1")],
  [
    "UTF-8 encoded twice",
    (text: string) => Buffer.from(Buffer.from(text, "utf8").toString("latin1"), "utf8"),
  ],
  ["gzip", (text: string) => gzipSync(text)],
  ["with carriage returns alone", (text: string) => Buffer.from(text.replaceAll("\n", "\r"))],
] as const)("%s", async (_, encode) => {
  const found = await taken(encode("Time [s],RPM,Coolant [°C]\n0,800,90\n1,810,91\n2,820,92\n"));
  expect(only(found, "engine-speed")).toEqual([800, 810, 820]);
  expect(only(found, "coolant")).toEqual([90, 91, 92]);
});

test("values that are held are seen, a log that is read row by row is not taken for one", async () => {
  const rows = (renew: (column: number, row: number) => boolean): string => {
    const now = [800, 40, 12, 0];
    const lines = Array.from({ length: 300 }, (_, row) => {
      now.forEach((_v, c) => {
        if (renew(c, row)) now[c] = (now[c] ?? 0) + Math.sin(row * (c + 1)) * 3;
      });
      return [row * 0.1, ...now].map((v) => v.toFixed(3)).join(",");
    });
    return `Time [s],RPM,MAP [kPa],Throttle [%],Advance [deg]\n${lines.join("\n")}\n`;
  };
  const held = await taken(rows((c, row) => row % 4 === c));
  expect(held.look.held).toBe(true);
  expect(only(held, "engine-speed").length).toBeLessThan(90);
  const fresh = await taken(rows(() => true));
  expect(fresh.look.held).toBe(false);
  expect(only(fresh, "engine-speed")).toHaveLength(300);
});

test("replies as hexadecimal digits are decoded by the program's own table", async () => {
  const found = await taken("1.0:0c0c80,\n1.2:057b,\n----\n1.4:0b23,\n1.6:0c0ca0,\n1.8:8f99,\n2.0:0d00,\n");
  expect(found.look.form).toBe("replies");
  // J1979: (256 A + B) / 4 rpm, A - 40 °C, A kPa.
  expect(found.samples).toEqual([
    [0, "engine-speed", 800],
    [200, "coolant", 83],
    [400, "manifold", 35],
    [600, "engine-speed", 808],
    [1000, "vehicle-speed", 0],
  ]);
  expect(found.notices.join(" ")).toContain("1 line skipped without a reply");
  expect(found.notices.join(" ")).toContain("parameter 8F");
});

test("a map that was kept is used again for the same header, and for no other; a broken one is no reason to fail", async () => {
  const own = tempFolder();
  const csv = "Time [s],Mystery,RPM,Speed\n0,1,800,10\n1,2,810,11\n2,3,820,12\n";
  await taken(csv, { own, system: "us", keep: true });
  const again = await lookAtFile(file(csv.replace("800", "900"), "z.csv"), mapsFolder(own));
  expect(again.columns.map(({ channel, unit, how }) => [channel, unit, how])).toEqual([
    [null, null, "kept"],
    ["engine-speed", "rpm", "kept"],
    ["vehicle-speed", "mph", "kept"],
  ]);
  const other = await lookAtFile(file(csv.replace("Mystery", "Riddle"), "q.csv"), mapsFolder(own));
  expect(other.columns[2]).toMatchObject({ unit: null, how: "likely" });
  const [name = ""] = readdirSync(mapsFolder(own));
  const newer = '{"version":99}';
  writeFileSync(join(mapsFolder(own), name), newer);
  await taken(csv, { own, system: "us", keep: true });
  expect(readFileSync(join(mapsFolder(own), name), "utf8")).toBe(newer);
  writeFileSync(join(mapsFolder(own), name), "{");
  expect((await lookAtFile(file(csv, "w.csv"), mapsFolder(own))).columns[2]).toMatchObject({ how: "likely" });
});

test("the recording lies where recordings live, under the log's name; a second one gets a number", async () => {
  const own = tempFolder();
  const csv = "Time [s],RPM,MAP [kPa]\n0,800,1\n1,810,1\n2,820,2\n";
  await taken(csv, { own });
  await taken(csv, { own });
  expect(existsSync(join(own, "log.ndjson")) && existsSync(join(own, "log-2.ndjson"))).toBe(true);
});

test.each([
  ["", "a row of column names"],
  ["just words\nand more\n", "a row of column names"],
  ["1,2,3\n4,5,6\n", "a row of column names"],
  ["RPM,MAP\n800,40\n800,41\n", "a column of seconds"],
])("what is no log is refused with what was expected: %j", async (csv, expected) => {
  await expect(lookAtFile(file(csv, "n.csv"), null)).rejects.toMatchObject({
    code: "csv-columns",
    context: { expected: expect.stringContaining(expected) as string },
  });
});

test("a table written in any of these forms gives back its numbers", async () => {
  const columns = [
    { name: "RPM", unit: "rpm", channel: "engine-speed" },
    { name: "Coolant Temp", unit: "°C", channel: "coolant" },
    { name: "MAF", unit: "g/s", channel: "air-flow" },
    { name: "STFT B1", unit: "%", channel: "trim-short-b1" },
    { name: "Battery Voltage", unit: "V", channel: "module-voltage" },
  ] as const;
  const value = fc.integer({ min: 1, max: 99_999 }).map((n) => n / 100);
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.tuple(value, value, value, value, value), { minLength: 3, maxLength: 12 }),
      fc.constantFrom([",", "."], [";", ","], [";", "."], ["\t", ","], ["\t", "."], ["|", "."]),
      fc.constantFrom("header", "row", "cells"),
      fc.record({ trailing: fc.boolean(), end: fc.constantFrom("\n", "\r\n") }),
      async (rows, [separator = ",", decimal = "."], where, { trailing, end }) => {
        const write = (n: number): string => String(n).replace(".", decimal);
        const line = (cells: readonly string[]): string =>
          cells.join(separator) + (trailing ? separator : "") + end;
        const lines = [
          line([
            "Time",
            ...columns.map(({ name, unit }) => (where === "header" ? `${name} [${unit}]` : name)),
          ]),
          ...(where === "row" ? [line(["s", ...columns.map(({ unit }) => unit)])] : []),
          ...rows.map((row, i) =>
            line([
              write(i / 8),
              ...row.map((n, c) => write(n) + (where === "cells" ? (columns[c]?.unit ?? "") : "")),
            ]),
          ),
        ];
        const found = await taken(lines.join(""));
        columns.forEach(({ channel }, c) => expect(only(found, channel)).toEqual(rows.map((row) => row[c])));
      },
    ),
    { numRuns: 60 },
  );
});

test("whatever a file holds, looking ends in a proposal or in a coded refusal", async () => {
  const cell = fc.oneof(
    fc.string({ maxLength: 8 }),
    fc.constantFrom("Time", "RPM", "1", "2,5", '"', ";", "07:00:00", "0C"),
  );
  await fc.assert(
    fc.asyncProperty(fc.array(fc.array(cell, { maxLength: 5 }), { maxLength: 8 }), async (rows) => {
      const text = rows.map((row) => row.join(",")).join("\n");
      const outcome = await lookAtFile(file(text, "r.csv"), null).catch((error: unknown) => error);
      expect(outcome).toHaveProperty(outcome instanceof Error ? "code" : "form");
    }),
    { numRuns: 150 },
  );
});

const halfDay = 43_200;
const two = (n: number): string => String(n).padStart(2, "0");
const writings = {
  ymd: (y: number, m: number, d: number) => `${y}-${two(m)}-${two(d)}`,
  slashes: (y: number, m: number, d: number) => `${y}/${two(m)}/${two(d)}`,
  dots: (y: number, m: number, d: number) => `${d}.${m}.${y}`,
  dmy: (y: number, m: number, d: number) => `${two(d)}/${two(m)}/${y}`,
  mdy: (y: number, m: number, d: number) => `${m}/${d}/${y}`,
} as const;
const dated = fc.record({
  from: fc.integer({ min: 0, max: 20 * 365 * 86_400 }),
  steps: fc.array(fc.integer({ min: 1, max: halfDay - 1 }), { minLength: 3, maxLength: 30 }),
  written: fc.constantFrom(...(Object.keys(writings) as (keyof typeof writings)[])),
  where: fc.constantFrom("before", "behind", "in the cell", "first row only", "above"),
});

test("the day in a column, in the cell or above the table: start and change of day come out, or two readings are told", async () => {
  await fc.assert(
    fc.asyncProperty(dated, async ({ from, steps, written, where }) => {
      const zero = Date.UTC(2004, 0, 1) / 1000 + from;
      const at = steps.reduce<number[]>((all, step) => [...all, (all.at(-1) ?? zero) + step], [zero]);
      const cells = at.map((seconds) => {
        const day = new Date(seconds * 1000);
        const parts = [day.getUTCFullYear(), day.getUTCMonth() + 1, day.getUTCDate()] as const;
        return { date: writings[written](...parts), clock: day.toISOString().slice(11, 19), parts, day };
      });
      const first = cells[0]?.date ?? "";
      const rows = cells.map(({ date, clock }, i) => {
        const speed = String(800 + i);
        if (where === "in the cell") return `${date} ${clock};${speed};12.5`;
        if (where === "above") return `${clock};${speed};12.5`;
        if (where === "behind") return `${clock};${date};${speed};12.5`;
        return `${where === "before" || i === 0 ? date : ""};${clock};${speed};12.5`;
      });
      const names =
        where === "behind"
          ? "Time;Date;"
          : where === "in the cell" || where === "above"
            ? "Time;"
            : "Date;Time;";
      const head = where === "above" ? `Log of ${first}\n` : "";
      const found = await taken(`${head}${names}RPM;Batt Volts [V]\n${rows.join("\n")}\n`);
      const speeds = found.samples.filter(([, ch]) => ch === "engine-speed");
      expect(speeds.map(([t, , v]) => [t, v])).toEqual(
        at.map((seconds, i) => [(seconds - zero) * 1000, 800 + i]),
      );
      const [year = 0, month = 1, day = 1] = cells[0]?.parts ?? [];
      const start = cells[0]?.day ?? new Date(0);
      const local = new Date(
        year,
        month - 1,
        day,
        start.getUTCHours(),
        start.getUTCMinutes(),
        start.getUTCSeconds(),
      );
      if (Date.parse(found.started) === local.getTime()) return;
      // Only where day and month could change places, and nothing in the file shows which is which.
      expect(["dmy", "mdy"]).toContain(written);
      expect(day).toBeLessThanOrEqual(12);
      expect(found.notices.join(" ")).toMatch(/can be read in two ways|time of day and no date/);
    }),
    { numRuns: 60 },
  );
}, 180_000);

test("rows of one second lie within it past midnight too", async () => {
  const seconds = Array.from({ length: 40 }, (_, i) => (86_390 + Math.floor(i / 2)) % 86_400);
  const rows = seconds.map((s, i) => `${new Date(s * 1000).toISOString().slice(11, 19)};${800 + i};12.5`);
  const found = await taken(`Time;RPM;Batt Volts [V]\n${rows.join("\n")}\n`);
  expect(found.look.time.rows).toBe("spread");
  const times = found.samples.filter(([, ch]) => ch === "engine-speed").map(([t]) => t);
  expect(times).toEqual(seconds.map((_, i) => i * 500));
});

test("a day that is written a moment late or early moves no row", async () => {
  for (const days of [
    ["31.05.2024", "31.05.2024", "01.06.2024"],
    ["31.05.2024", "01.06.2024", "01.06.2024"],
    ["01.06.2024", "01.06.2024", "01.06.2024"],
  ]) {
    const rows = ["23:59:59", "00:00:01", "00:00:02"].map(
      (clock, i) => `${days[i] ?? ""};${clock};${800 + i};12`,
    );
    const found = await taken(`Date;Time;RPM;Batt Volts [V]\n${rows.join("\n")}\n`);
    expect(found.samples.filter(([, ch]) => ch === "engine-speed").map(([t]) => t)).toEqual([0, 2000, 3000]);
  }
});

test("a map that is kept for the next log does not keep the day of this one", async () => {
  const own = tempFolder();
  const log = (day: string): string =>
    `${day}\nTime;RPM;Batt Volts [V]\n07:00:00;1;12\n07:00:01;2;12\n07:00:02;3;12\n`;
  const first = await taken(log("2024-05-31"), { own, keep: true });
  expect(new Date(first.started).getDate()).toBe(31);
  const next = await taken(log("2024-06-02"), { own });
  expect(new Date(next.started).getDate()).toBe(2);
  expect((await taken(log("no day"), { own })).notices.join(" ")).toContain("time of day and no date");
});
