import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { readMap, readMapFile } from "../../src/recorder/import/map.ts";
import { conversionsTo } from "../../shared/unitNames.ts";
import { units, type Unit } from "../../shared/units.ts";

const folder = join(import.meta.dirname, "../../recordings/maps");
const page = readFileSync(join(folder, "README.md"), "utf8");

test("every ready map is right and named on the page", () => {
  const maps = readdirSync(folder).filter((name) => name.endsWith(".json"));
  expect(maps.length).toBeGreaterThan(0);
  for (const name of maps) {
    expect(readMapFile(join(folder, name)).columns.length).toBeGreaterThan(0);
    expect(page).toContain(`\`${name}\``);
  }
});

test("the page's map is right", () => {
  const json = /```json\n([^`]*)```/.exec(page)?.[1] ?? "";
  expect(readMap(JSON.parse(json), "the page").columns.map((c) => c.channel)).toEqual([
    "engine-speed",
    "coolant",
  ]);
});

test("the units that the page names as US ones are taken", () => {
  const taken = Object.values(units).flatMap((row: Unit) => (row.us === undefined ? [] : [row.us.symbol]));
  for (const symbol of ["°F", "mph", "mi", "inHg", "psi", "lb/min", "gal/h"]) expect(taken).toContain(symbol);
  expect([...conversionsTo("kPa fuel").keys()]).toEqual(expect.arrayContaining(["kPa", "inHg", "psi"]));
});
