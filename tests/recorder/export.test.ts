import { join } from "node:path";
import { PassThrough, Writable } from "node:stream";
import { text } from "node:stream/consumers";
import { parse } from "csv-parse/sync";
import { expect, test } from "vitest";
import { exportCsv } from "../../src/recorder/export.ts";
import { file, headerText, systemError, tempFolder, textOf } from "./support.ts";

const can = headerText.replace('"protocol":null', '"protocol":"can11-500"');

/** Two modules, an enumeration, a code, the adapter's own voltage, a lost link and an imported sample. */
const recording =
  can +
  [
    '{"t":0,"k":"x","ask":"010C","lines":["7E804410C1AF8","7E904410C1AF4"],"first":10,"end":12}',
    '{"t":100,"k":"x","ask":"ATRV","lines":["12.4V"],"first":5,"end":6}',
    '{"t":200,"k":"x","ask":"0103","lines":["7E80441030200"],"first":10,"end":12}',
    '{"t":300,"k":"x","ask":"0102","lines":["7E80441020300"],"first":10,"end":12}',
    '{"t":400,"k":"link","state":"lost","why":"unplugged"}',
    '{"t":2400,"k":"link","state":"back"}',
    '{"t":2500,"k":"x","ask":"010C","lines":["7E804410C0E96"],"first":0,"end":12}',
    '{"t":2600,"k":"x","ask":"010C","lines":["NO DATA"],"first":0,"end":12}',
    '{"t":2700,"k":"s","ch":"coolant","v":83,"u":"°C"}',
    "",
  ].join("\n");

async function rowsOf(
  path: string,
  options: Parameters<typeof exportCsv>[1] = {},
): Promise<Record<string, string>[]> {
  const out = join(tempFolder(), "out.csv");
  const summary = await exportCsv(path, { ...options, out });
  const content = textOf(out);
  expect(content.endsWith("\r\n")).toBe(true);
  expect(content.split("\r\n")).toHaveLength(summary.rows + 2);
  const rows = parse<Record<string, string>>(content, { columns: true });
  expect(Object.keys(rows[0] ?? {})).toHaveLength(summary.columns + 2);
  return rows;
}

test("a row for each time at which anything was read, and only what was read then", async () => {
  const rows = await rowsOf(file(recording));
  // 1AF8 / 4 = 1726, 1AF4 / 4 = 1725, 0E96 / 4 = 933.5 rpm (list "OBD-II PIDs"; trace in course notes).
  expect(rows[0]).toEqual({
    "time (s)": "0.01",
    "time (ISO 8601)": "2024-03-02T09:00:00.010+01:00",
    "engine-speed@7E8 (rpm)": "1726",
    "engine-speed@7E9 (rpm)": "1725",
    "socket-voltage@adapter (V)": "",
    "fuel-system-1@7E8 (state)": "",
    "fuel-system-2@7E8 (state)": "",
    "freeze-code@7E8 (code)": "",
    "coolant (°C)": "",
  });
  expect(rows.map((r) => r["time (s)"])).toEqual(["0.01", "0.105", "0.21", "0.31", "2.5", "2.7"]);
  expect(rows[1]?.["socket-voltage@adapter (V)"]).toBe("12.4");
  expect(rows[2]?.["fuel-system-1@7E8 (state)"]).toBe("closed loop");
  expect(rows[2]?.["fuel-system-2@7E8 (state)"]).toBe("off or not fitted");
  expect(rows[3]?.["freeze-code@7E8 (code)"]).toBe("P0300");
  expect(rows[4]).toMatchObject({ "engine-speed@7E8 (rpm)": "933.5", "engine-speed@7E9 (rpm)": "" });
  expect(rows[5]).toMatchObject({ "coolant (°C)": "83", "engine-speed@7E8 (rpm)": "" });
});

test("a grid carries the last reading while it is fresh, and nothing over a lost link", async () => {
  const rows = await rowsOf(file(recording), { everyMs: 500, maxAgeMs: 1000 });
  expect(rows.map((r) => [r["time (s)"], r["engine-speed@7E8 (rpm)"]])).toEqual([
    ["0", ""],
    ["0.5", ""],
    ["1", ""],
    ["1.5", ""],
    ["2", ""],
    ["2.5", "933.5"],
  ]);
  const unbroken = file(recording.replace(/^.*"k":"link".*\n/gm, ""));
  const fresh = await rowsOf(unbroken, { everyMs: 500, maxAgeMs: 1000 });
  expect(fresh.map((r) => r["engine-speed@7E9 (rpm)"])).toEqual(["", "1725", "1725", "", "", ""]);
});

test("words with commas are quoted", async () => {
  const cold = recording.replace("7E80441030200", "7E80441030100");
  const rows = await rowsOf(file(cold));
  expect(rows[2]?.["fuel-system-1@7E8 (state)"]).toBe("open loop, engine too cold");
});

test("a channel or a unit that a spreadsheet would take for a formula is a text, and numbers stay numbers", async () => {
  const formulas = ["=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1)", "\tx", "\rx"];
  const samples = formulas.map((ch, i) => JSON.stringify({ t: i, k: "s", ch, v: -i - 1, u: "=1+1" }));
  const rows = await rowsOf(file(`${headerText}${samples.join("\n")}\n`));
  expect(Object.keys(rows[0] ?? {}).slice(2)).toEqual(formulas.map((ch) => `'${ch} (ratio)`));
  formulas.forEach((ch, i) => expect(rows[i]?.[`'${ch} (ratio)`]).toBe(String(-i - 1)));
});

test("fractions come out as they are known, not as binary leaves them", async () => {
  // 84h = 132: 132 * 100 / 255 = 51.7647058823...
  const rows = await rowsOf(
    file(`${can}{"t":0,"k":"x","ask":"0111","lines":["7E803411184"],"first":0,"end":2}\n`),
  );
  expect(rows[0]?.["throttle@7E8 (%)"]).toBe("51.76470588");
});

test("a recording without readings is a header line", async () => {
  const out = new PassThrough();
  const reading = text(out);
  const summary = await exportCsv(file(headerText), { out });
  out.end();
  expect(summary).toEqual({ rows: 0, columns: 0 });
  expect(await reading).toBe("time (s),time (ISO 8601)\r\n");
});

test("an existing file is not written over, and wrong spacings are refused", async () => {
  const out = file("precious", "out.csv");
  await expect(exportCsv(file(recording), { out })).rejects.toMatchObject({ code: "file-exists" });
  expect(textOf(out)).toBe("precious");
  const nowhere = join(tempFolder(), "no", "such", "folder.csv");
  await expect(exportCsv(file(recording), { out: nowhere })).rejects.toMatchObject({
    code: "file-unwritable",
  });
  for (const everyMs of [0, -5, Number.NaN, 0.5]) {
    await expect(exportCsv(file(recording), { everyMs })).rejects.toMatchObject({ code: "wrong-use" });
  }
  const long = file(`${headerText}{"t":9999999999,"k":"s","ch":"coolant","v":1,"u":"°C"}\n`);
  await expect(exportCsv(long, { everyMs: 1 })).rejects.toMatchObject({ code: "wrong-use" });
  await expect(exportCsv(file("no recording"))).rejects.toMatchObject({ code: "not-a-recording" });
});

test("a reader that has seen enough is no failure, a full disk is", async () => {
  const failing = (code: string): Writable =>
    new Writable({ write: (_chunk, _encoding, done) => done(systemError(code)) });
  await expect(exportCsv(file(recording), { out: failing("EPIPE") })).resolves.toMatchObject({ columns: 7 });
  await expect(exportCsv(file(recording), { out: failing("ENOSPC") })).rejects.toMatchObject({
    code: "file-unwritable",
  });
});
