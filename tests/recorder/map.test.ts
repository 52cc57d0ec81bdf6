import { join } from "node:path";
import { expect, test } from "vitest";
import { readMap, readMapFile } from "../../src/recorder/import/map.ts";
import { conversionsTo } from "../../shared/unitNames.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { file, tempFolder } from "./support.ts";

const time = { column: "T", unit: "s" };
const rpm = { channel: "engine-speed", unit: "rpm" };

function refusal(map: unknown): { where: string; expected: string; found: string } {
  try {
    readMap(map, "map.json");
  } catch (error) {
    if (!isCranksideError(error, "map-invalid")) throw error;
    const { where = "", expected = "", found = "" } = error.context;
    return { where, expected, found };
  }
  throw new Error("the map was taken");
}

test.each([
  ["no object", 5, "map.json"],
  ["no time", { columns: { R: rpm } }, "map.json, time"],
  ["an unknown time unit", { time: { column: "T", unit: "h" }, columns: { R: rpm } }, "map.json, time.unit"],
  ["an unknown way of rows", { time: { ...time, rows: "even" }, columns: { R: rpm } }, "map.json, time.rows"],
  ["no columns", { time, columns: {} }, "map.json, columns"],
  ["ignored columns only", { time, columns: { R: { ignore: true } } }, "map.json, columns"],
  [
    "a column without unit",
    { time, columns: { R: { channel: "engine-speed" } } },
    "map.json, columns.R.unit",
  ],
  [
    "an unknown channel",
    { time, columns: { R: { ...rpm, channel: "speed" } } },
    "map.json, columns.R.channel",
  ],
  [
    "a unit of something else",
    { time, columns: { R: { ...rpm, unit: "km/h" } } },
    "map.json, columns.R.unit",
  ],
  [
    "a unit with an inherited name",
    { time, columns: { R: { ...rpm, unit: "toString" } } },
    "map.json, columns.R.unit",
  ],
  ["a field that is not described", { time, columns: { R: { ...rpm, hold: true } } }, "map.json, columns.R"],
  ["held as a number", { time, columns: { R: { ...rpm, held: 1 } } }, "map.json, columns.R.held"],
  ["ignore false", { time, columns: { R: { ignore: false } } }, "map.json, columns.R.ignore"],
  ["one channel twice", { time, columns: { R: rpm, S: rpm } }, "map.json, columns.S.channel"],
  ["a delimiter of two", { time, delimiter: ",,", columns: { R: rpm } }, "map.json, delimiter"],
])("%s is refused, naming the field", (_, map, where) => {
  const found = refusal(map);
  expect(found.where).toBe(where);
  expect(found.expected).not.toBe("");
  expect(found.found).not.toBe("");
});

test("a map that is no JSON, or not there, is a coded error", () => {
  expect(() => readMapFile(file("{", "map.json"))).toThrow(expect.objectContaining({ code: "map-invalid" }));
  expect(() => readMapFile(join(tempFolder(), "none"))).toThrow(
    expect.objectContaining({ code: "file-missing" }),
  );
});

test("empty brackets and blanks around names do not matter", () => {
  const map = readMap(
    { time: { ...time, column: "T ()" }, columns: { " RPM() ": rpm, "B (x)": { ignore: true } } },
    "m",
  );
  expect(map.time.column).toBe("T");
  expect(map.columns[0]?.column).toBe("RPM");
  expect(map.ignored).toEqual(["B (x)"]);
});

test("each unit of the US system is taken where the metric one stands, and of pressures all", () => {
  expect([...conversionsTo("°C").keys()]).toEqual(["°C", "°F", "K"]);
  for (const unit of ["kPa", "kPa fuel"] as const)
    expect([...conversionsTo(unit).keys()]).toEqual(
      expect.arrayContaining(["kPa", "hPa", "mbar", "bar", "psi", "inHg"]),
    );
  expect([...conversionsTo("rpm").keys()]).toEqual(["rpm"]);
});
