import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { seeded } from "../../shared/seeded.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";
import { tempFolder } from "../support/program.ts";
import { allFaults, allVehicles, brokenOf, casesOf, pairs, type Case } from "./cases.ts";
import { expected } from "./expect.ts";
import { Forest, type Example } from "./forest.ts";
import { blind, groupOf, groups } from "./groups.ts";
import { hear, makeRecording } from "./one.ts";
import { report } from "./report.ts";
import { drive, feltRough, heardSlow, toldOf } from "./driver.ts";
import { ShopVehicle } from "./shopBench.ts";
import { addTally, readTally, type Tally } from "./tally.ts";
import { proveOptions } from "./options.ts";
import { prove, shardOf } from "./prove.ts";

const folder = tempFolder();

afterAll(() => folder.remove());

test("a recording of a broken bench vehicle does not hold the name of what is broken", async () => {
  for (const fault of ["no-crank-signal", "unmetered-air", "ignition-one-cylinder"]) {
    const out = join(folder.path, `${fault.length}.ndjson`);
    await makeRecording({ vehicle: "garden-van", fault, severity: 0.7, script: "cold-crank", seed: 3 }, out);
    const text = readFileSync(out, "utf8");
    expect(text).not.toContain(fault);
    expect(text).not.toMatch(/fault|severity/i);
  }
}, 120_000);

const usual = {
  seeds: [1, 4],
  severities: "hidden",
  vehicles: allVehicles,
  faults: [...allFaults, ...pairs],
  script: "suits",
} as const;

test("every fault has its expectation, and the usual set is large enough", () => {
  expect(Object.keys(expected).sort()).toEqual([...allFaults].sort());
  const cases = casesOf(usual);
  expect(cases.length).toBeGreaterThanOrEqual(1000);
  expect(cases.filter((c) => c.fault === null).length * 3).toBeGreaterThanOrEqual(cases.length);
});

test("seeds and severities nobody tuned to make cases of their own, healthy ones too", () => {
  const key = (c: Case): string => JSON.stringify(c);
  const ours = new Set(casesOf(usual).map(key));
  const theirs = casesOf({ ...usual, seeds: [40_001, 40_002], severities: [0.35, 0.8] });
  expect(theirs.some((c) => ours.has(key(c)))).toBe(false);
  const broken = theirs.filter((c) => c.fault !== null);
  expect(new Set(broken.map((c) => c.seed))).toEqual(new Set([40_001, 40_002]));
  expect(new Set(broken.map((c) => c.severity))).toEqual(new Set([0.35, 0.8]));
  expect(theirs.filter((c) => c.fault === null).every((c) => c.seed > 140_000)).toBe(true);
});

test("a severity that nobody named is drawn for each vehicle, the same each time, and some are outright", () => {
  const drawn = casesOf(usual).filter((c) => c.fault !== null);
  expect(casesOf(usual)).toEqual(casesOf(usual));
  expect(new Set(drawn.map((c) => c.severity)).size).toBeGreaterThan(100);
  expect(Math.min(...drawn.map((c) => c.severity))).toBeGreaterThanOrEqual(0.25);
  const outright = drawn.filter((c) => c.severity === 1).length / drawn.length;
  expect(outright).toBeGreaterThan(0.25);
  expect(outright).toBeLessThan(0.42);
});

test("a group has four causes at most, each in one group, and mends are known of it", () => {
  const all = groups.flatMap((g) => g.causes);
  expect(new Set(all).size).toBe(all.length);
  for (const { causes, why } of groups) {
    expect(causes.length).toBeGreaterThan(1);
    expect(causes.length).toBeLessThanOrEqual(4);
    expect(why).not.toBe("");
    for (const id of causes) expect(tablesModel().place.has(id), id).toBe(true);
  }
  expect([...groupOf(["pump-dead"])].sort()).toEqual(["fuel-empty", "pump-dead", "relay-open", "spark-dead"]);
  expect([...groupOf(["immobiliser"])]).toEqual(["immobiliser"]);
});

test("blind choice: four of forty by one draw and by three, and never more than certain", () => {
  expect(blind(40, 4, 1)).toBeCloseTo(0.1, 12);
  // One less the chance to miss three times: 36/40 x 35/39 x 34/38.
  expect(blind(40, 4, 3)).toBeCloseTo(1 - (36 * 35 * 34) / (40 * 39 * 38), 12);
  expect(blind(2, 2, 3)).toBe(1);
  expect(blind(5, 0, 3)).toBe(0);
});

test("a fault that is not there yet does not count as broken; one that stops the engine does", async () => {
  const one: Case = {
    vehicle: "old-hatch",
    fault: "pump-dead",
    severity: 0.3,
    script: "cold-crank",
    seed: 8,
  };
  expect((await hear(one, folder.path)).differs).toBe(false);
  expect((await hear({ ...one, severity: 1 }, folder.path)).differs).toBe(true);
}, 120_000);

test("a classifier learns what parts two kinds, also where a number is missing, and names the rest behind it", () => {
  const random = seeded(3);
  const some = (label: string, level: number | null): Example[] =>
    Array.from({ length: 12 }, () => ({
      label,
      features: { noise: random(), ...(level === null ? {} : { level: level + random() }) },
    }));
  const forest = new Forest([...some("low", 1), ...some("high", 3), ...some("none", null)]);
  expect(forest.rank({ noise: 0.5, level: 1.4 })[0]).toBe("low");
  expect(forest.rank({ noise: 0.5, level: 3.4 })[0]).toBe("high");
  expect(forest.rank({ noise: 0.5 })[0]).toBe("none");
});

test("parts hold each case once", () => {
  const cases = casesOf(usual);
  const parts = [1, 2, 3].flatMap((part) => shardOf(cases, [part, 3]));
  expect(new Set(parts)).toEqual(new Set(cases));
  expect(parts).toHaveLength(cases.length);
});

test.each([
  ["--seeds", "3..1"],
  ["--severity", "0,1"],
  ["--vehicles", "no-such"],
  ["--faults", "no-such"],
  ["--script", "no-such"],
  ["--shard", "3/2"],
  ["--sum"],
])("a command line that cannot be meant is refused: %s %s", (...args: string[]) => {
  expect(() => proveOptions(args)).toThrow();
});

test("the command runs a set of one's own, whole, in processes, and in parts that add up to the same", async () => {
  const run = join(import.meta.dirname, "run.js");
  const own = ["--seeds", "40001..40002", "--severity", "0.35", "--vehicles", "old-hatch"];
  const few = [...own, "--faults", "no-crank-signal,unmetered-air", "--script", "key-on"];
  const file = (name: string): string => join(folder.path, `${name}.json`);
  const whole = spawnSync(process.execPath, [run, ...few, "--jobs", "2", "--out", file("whole")], {
    encoding: "utf8",
  });
  expect(whole.status, whole.stderr).toBe(0);
  expect(whole.stdout).toContain("6 recordings, 2 of them healthy");
  await prove([...few, "--jobs", "1", "--shard", "1/2", "--out", file("one")], run);
  await prove([...few, "--jobs", "1", "--shard", "2/2", "--out", file("two")], run);
  await prove(["--sum", file("one"), file("two"), "--out", file("sum")], run);
  const read = (name: string): Tally => readTally(readFileSync(file(name), "utf8"));
  expect(read("sum")).toEqual(read("whole"));
  expect(whole.stdout).toBe(report(read("whole")));
  expect(() => {
    addTally(read("one"), { ...read("two"), set: "another" });
  }).toThrow("different sets");
}, 240_000);

test("the driver tells what the engine does when it is tried, where the recording does not show it", async () => {
  const one = ["--seeds", "40001", "--severity", "1", "--vehicles", "old-hatch", "--jobs", "1", "--part"];
  // Key on and nothing else: a recording that complains of nothing.
  const few = [...one, "--faults", "no-crank-signal,immobiliser", "--script", "key-on"];
  const out = join(folder.path, "told.json");
  await prove([...few, "--out", out], "");
  const { cases } = readTally(readFileSync(out, "utf8"));
  for (const { fault, named } of cases.filter((c) => c.fault !== null)) {
    expect(named.neither?.complaints, fault ?? "").toEqual([]);
    expect(named.told?.complaints, fault ?? "").toEqual(["no-start"]);
    expect(named.told?.causes.length).toBeGreaterThan(0);
  }
}, 120_000);

test("a driver complains of an engine that shakes, and of nothing on a sound one", () => {
  const shaking: Case = {
    ...{ vehicle: "old-hatch", fault: "ignition-one-cylinder", severity: 1, script: "", seed: 3 },
  };
  const rough = (one: Case): boolean =>
    feltRough(one, drive(new ShopVehicle(one.vehicle, brokenOf(one), one.seed)));
  expect(rough(shaking)).toBe(true);
  expect(rough({ ...shaking, fault: "unmetered-air", severity: 0.01 })).toBe(false);
  const there = new ShopVehicle("old-hatch", [], 3);
  const nothing = { rough: false, slow: false, lamp: false, died: false, uncharged: false, shown: [] };
  expect(toldOf(drive(there), nothing)).toEqual([]);
  expect(toldOf(drive(there), { ...nothing, lamp: true })).toEqual(["lamp-on"]);
  expect(
    toldOf(drive(there), { ...nothing, rough: true, lamp: true, shown: ["lean", "starts-and-dies"] }),
  ).toEqual(["lean", "rough"]);
}, 120_000);

test("a driver hears a starter that labours, and tells that in place of what it would come to", () => {
  const slow: Case = { vehicle: "old-hatch", fault: "cable-resistance", severity: 1, script: "", seed: 4 };
  expect(heardSlow(slow)).toBe(true);
  expect(heardSlow({ ...slow, fault: "unmetered-air" })).toBe(false);
  const runs = drive(new ShopVehicle("old-hatch", [], 4));
  const nothing = { rough: false, slow: false, lamp: false, died: false, uncharged: false, shown: [] };
  expect(toldOf(runs, { ...nothing, slow: true, shown: ["no-start"] })).toEqual(["cranks-slowly"]);
}, 120_000);

test("a driver sees the charge lamp, and that it went out by itself", async () => {
  const seen = async (fault: string | null): Promise<readonly [boolean, boolean]> => {
    const out = join(folder.path, `driver-${fault ?? "sound"}.ndjson`);
    const one: Case = { vehicle: "old-hatch", fault, severity: 1, script: "workshop", seed: 5 };
    const { died, uncharged } = await makeRecording(one, out);
    return [died, uncharged];
  };
  expect(await seen(null)).toEqual([false, false]);
  expect(await seen("alternator-dead")).toEqual([false, true]);
  expect(await seen("no-crank-signal")).toEqual([false, false]);
  const runs = drive(new ShopVehicle("old-hatch", [], 5));
  const nothing = { rough: false, slow: false, lamp: true, died: false, uncharged: false, shown: [] };
  expect(toldOf(runs, { ...nothing, uncharged: true })).toEqual(["not-charging"]);
  expect(toldOf(runs, { ...nothing, died: true })).toEqual(["starts-and-dies"]);
}, 120_000);

test("of ten sound runs more none passes for broken, and a fault to be measured does", async () => {
  const one: Case = { vehicle: "old-hatch", fault: null, severity: 0, script: "crank-only", seed: 0 };
  const said: boolean[] = [];
  for (let seed = 61; seed <= 70; seed++) {
    said.push((await hear({ ...one, seed }, folder.path)).differs);
  }
  expect(said.filter(Boolean)).toHaveLength(0);
  expect((await hear({ ...one, fault: "weak-battery", severity: 0.8, seed: 61 }, folder.path)).differs).toBe(
    true,
  );
}, 240_000);
