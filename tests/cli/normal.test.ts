/** What is normal for a vehicle, from the command line: learned from sound recordings, kept, and held against another. */
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { z } from "zod/mini";
import { findingsSchema, readNormal, type Sign } from "../../src/interpret/index.ts";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";

const folder = tempFolder();
const file = (name: string): string => join(folder.path, name);
const sound = [1, 2, 3, 4].map((seed) => file(`sound-${seed}.ndjson`));
const learned = file("vehicle.json");

beforeAll(async () => {
  build();
  const bench = (seed: number, out: string): ReturnType<typeof crankside> =>
    crankside(
      ["bench", "--vehicle", "old-hatch", "--script", "start-and-idle", "--seed", String(seed), "--out", out],
      folder.path,
    );
  for (const [i, out] of [...sound, file("later.ndjson")].entries())
    expect((await bench(i + 1, out)).status).toBe(0);
  const { status, stdout, stderr } = await crankside(
    ["normal", ...sound, "--out", learned, "--name", "the old hatch"],
    folder.path,
  );
  expect(status, stderr).toBe(0);
  expect(stdout).toContain("Normal for the old hatch: 4 recordings");
}, 400_000);

afterAll(() => folder.remove());

test("the file holds figures with count and spread, and the recordings by name", () => {
  const normal = readNormal(JSON.parse(readFileSync(learned, "utf8")), learned);
  expect(normal.name).toBe("the old hatch");
  expect(normal.recordings).toHaveLength(4);
  expect(normal.figures.length).toBeGreaterThan(2);
  for (const { recordings, spread } of normal.figures) {
    expect(recordings).toBeLessThanOrEqual(4);
    expect(spread).toBeGreaterThan(0);
  }
});

test("read --normal judges by it and says so on the sign; without it nothing is said of it", async () => {
  const later = file("later.ndjson");
  const ownOf = async (...more: string[]): Promise<Sign[]> => {
    const { status, stdout, stderr } = await crankside(["read", later, "--json", ...more], folder.path);
    expect(status, stderr).toBe(0);
    return z.parse(findingsSchema, JSON.parse(stdout)).signs.filter((sign) => sign.own !== undefined);
  };
  const held = await ownOf("--normal", learned);
  expect(held.length).toBeGreaterThan(1);
  const used = held.filter((sign) => sign.own?.used === true);
  expect(used.length).toBeGreaterThan(0);
  for (const { own } of used) expect(own).toMatchObject({ recordings: 4 });
  expect(await ownOf()).toEqual([]);
}, 120_000);

test("what was learned is never overwritten, and what is no such file is refused with one line", async () => {
  const before = readFileSync(learned, "utf8");
  const again = await crankside(["normal", ...sound, "--out", learned], folder.path);
  expect(again.status).toBe(1);
  expect(readFileSync(learned, "utf8")).toBe(before);
  writeFileSync(file("newer.json"), JSON.stringify({ format: "crankside-normal", version: 99 }));
  writeFileSync(file("other.json"), "{}");
  for (const [other, words] of [
    ["newer.json", "newer format"],
    ["other.json", "not what was learned"],
    ["missing.json", "no such file"],
  ] as const) {
    const { status, stderr } = await crankside(
      ["read", sound[0] ?? "", "--normal", file(other)],
      folder.path,
    );
    expect(status).toBe(1);
    expect(stderr.trimEnd().split("\n")).toHaveLength(1);
    expect(stderr).toContain(words);
  }
}, 120_000);

test("without recordings, or a place to keep it, nothing is written", async () => {
  expect((await crankside(["normal", "--out", file("none.json")], folder.path)).status).toBe(2);
  expect((await crankside(["normal", ...sound], folder.path)).status).toBe(2);
  const missing = await crankside(["normal", file("gone.ndjson"), "--out", file("none.json")], folder.path);
  expect(missing.status).toBe(1);
  expect(existsSync(file("none.json"))).toBe(false);
}, 120_000);
