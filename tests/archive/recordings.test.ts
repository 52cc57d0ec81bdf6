/** Recordings of 0.1.0: read as it read them, and an addition changes no byte of theirs. */
import { copyFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "csv-parse/sync";
import { afterAll, expect, test } from "vitest";
import { readDefinedParameters } from "../../shared/defined.ts";
import { Reading } from "../../src/reading/index.ts";
import { addToRecording } from "../../src/recorder/add.ts";
import { readMapFile } from "../../src/recorder/import/map.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { verifyRecording, verifyStatuses } from "../../src/recorder/verify.ts";
import { crankside, tempFolder } from "../support/program.ts";
import { archive, archived, archivedJson, codeOf, lost } from "./support.ts";

const folder = tempFolder();
afterAll(() => folder.remove());

const names = [
  "plain",
  "packed",
  "cut-short",
  "carried-on",
  "addition",
  "imported",
  "own-parameters",
] as const;
const fileOf = (name: string): string => `${name}.ndjson${name === "packed" ? ".gz" : ""}`;
const pathOf = (name: string): string => join(archive, "recordings", fileOf(name));

async function read(path: string): Promise<Reading> {
  const reading = new Reading(path);
  await readRecording(path, reading.sink);
  return reading;
}

function shown(reading: Reading): unknown {
  const { header, facts, marks, gaps, protocol, adapter, ended, lastTime } = reading;
  return {
    ...{ header, facts, marks, gaps, protocol, adapter, ended, lastTime },
    // What is said of a line may be said better; that it is said, and what was lost, stays.
    notices: reading.notices.map(({ line, lost: gone }) => ({ line, lost: gone })),
    counts: Object.fromEntries(reading.counts),
    channels: Object.fromEntries(
      reading.channels.channels.map((c) => [c, reading.channels.of(c).map((series) => series.length)]),
    ),
    answers: reading.answers.length,
  };
}

test.each(names)(
  "%s: header, facts, marks, gaps, notices and readings are as 0.1.0 read them",
  async (name) => {
    const { verify, notices, ...others } = archivedJson(`shown/${name}.json`) as Record<string, unknown>;
    const told = notices as readonly { line: number; lost: boolean }[];
    const before = { ...others, notices: told.map(({ line, lost: gone }) => ({ line, lost: gone })) };
    expect(lost(before, JSON.parse(JSON.stringify(shown(await read(pathOf(name))))))).toEqual([]);
    expect(verifyStatuses[(await verifyRecording(pathOf(name))).state]).toBe(verify);
  },
);

test.each(["plain", "packed", "imported", "own-parameters"])(
  "%s: every reading that 0.1.0 exported is exported with the same name and value",
  async (name) => {
    const { stdout } = await crankside(["export", pathOf(name), "--csv"]);
    const rows = (text: string): Record<string, string>[] =>
      parse(text, { columns: true, bom: true, comment: "#", relax_column_count: true });
    const before = rows(archived(`shown/${name}.csv`).toString("utf8"));
    expect(before.length).toBeGreaterThan(2);
    expect(lost(before, rows(stdout))).toEqual([]);
  },
  180_000,
);

test.each(["plain", "addition", "carried-on", "cut-short", "imported", "own-parameters"])(
  "%s: what is added today stands behind its bytes, and all that was in it is still in it",
  async (name) => {
    const path = join(folder.path, fileOf(name));
    copyFileSync(pathOf(name), path);
    const before = await read(path);
    await addToRecording(path, [
      { k: "mark", t: 99_000_000, id: "today", at: 500, label: "of today" },
      { k: "facts", t: 99_000_000, facts: { ...before.facts, complaint: "told today" } },
    ]);
    const bytes = archived(join("recordings", fileOf(name)));
    expect(readFileSync(path).subarray(0, bytes.length).equals(bytes)).toBe(true);
    const after = await read(path);
    expect(after.marks).toEqual(expect.arrayContaining([...before.marks]));
    expect(after.marks.map((m) => m.label)).toContain("of today");
    expect(lost({ ...before.facts, complaint: "told today" }, after.facts)).toEqual([]);
    expect(after.lastTime).toBe(before.lastTime);
    expect((await verifyRecording(path)).state).toBe("whole");
  },
);

test("a column map, a file of parameters and vehicle facts of 0.1.0 are taken", async () => {
  const map = readMapFile(join(archive, "files/column-map.json"));
  expect(map.columns.map((c) => [c.column, c.channel, c.round])).toEqual([
    ["RPM", "engine-speed", null],
    ["ECT", "coolant", ""],
    ["MAP", "manifold", "slow"],
  ]);
  expect(map.ignored).toEqual(["Gear"]);
  const out = join(folder.path, "imported-today.ndjson");
  const args = ["--columns", join(archive, "files/column-map.json"), "--out", out];
  expect((await crankside(["import", join(archive, "files/log.csv"), ...args])).status).toBe(0);
  const samples = (text: string): string[] => text.split("\n").filter((line) => line.includes('"k":"s"'));
  expect(samples(readFileSync(out, "utf8"))).toEqual(
    samples(archived("recordings/imported.ndjson").toString("utf8")),
  );
  const text = archived("files/parameters.json").toString("utf8");
  expect(readDefinedParameters(text, "x")).toEqual((JSON.parse(text) as { parameters: unknown }).parameters);
  const facts = join(archive, "files/vehicle.json");
  expect((await crankside(["read", pathOf("plain"), "--vehicle", facts])).status).toBe(0);
}, 180_000);

test("a recording, a map and parameters of a later version are refused in words, and not a byte of them changes", async () => {
  const path = join(folder.path, "later.ndjson");
  const later = archived("recordings/plain.ndjson").toString("utf8").replace('"version":1', '"version":2');
  writeFileSync(path, later);
  const added = addToRecording(path, [{ k: "mark", t: 1, id: "m", at: 1, label: "x" }]);
  await expect(added).rejects.toMatchObject({ code: "newer-format" });
  await expect(read(path)).rejects.toThrow(/newer format.*version 1 or lower.*version 2/s);
  expect(readFileSync(path, "utf8")).toBe(later);
  const map = join(folder.path, "map.json");
  writeFileSync(map, JSON.stringify({ version: 2, columns: "another form" }));
  expect(codeOf(() => readMapFile(map))).toBe("newer-format");
  expect(codeOf(() => readDefinedParameters('{"version":2,"reads":[]}', "x"))).toBe("newer-format");
  expect(codeOf(() => readDefinedParameters('{"version":0,"parameters":[]}', "x"))).toBe("reads-invalid");
});

test("every field that 0.1.0 printed of a survey as JSON has its name still", async () => {
  const { stdout } = await crankside(["survey", "--on", "bench:garden-van,ignition-one-cylinder", "--json"]);
  const { survey } = archivedJson("printed.json") as { survey: readonly string[] };
  const now = new Set(fieldsOf(JSON.parse(stdout)));
  expect(survey.filter((field) => !now.has(field))).toEqual([]);
}, 90_000);

function fieldsOf(value: unknown, at = ""): string[] {
  if (Array.isArray(value)) return value.flatMap((one: unknown) => fieldsOf(one, `${at}[]`));
  if (typeof value !== "object" || value === null) return [];
  return Object.entries(value).flatMap(([name, one]) => [`${at}.${name}`, ...fieldsOf(one, `${at}.${name}`)]);
}
