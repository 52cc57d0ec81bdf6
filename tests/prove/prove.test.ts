import { readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { tempFolder } from "../support/program.ts";
import { allFaults, casesOf, allVehicles } from "./cases.ts";
import { expected } from "./expect.ts";
import { makeRecording } from "./one.ts";

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
}, 60_000);

test("every fault has its expectation, and the usual set is large enough", () => {
  expect(Object.keys(expected).sort()).toEqual([...allFaults].sort());
  const cases = casesOf({
    seeds: [1, 3],
    severities: [0.6, 1],
    vehicles: allVehicles,
    faults: allFaults,
    script: "hold-2500",
  });
  expect(cases.length).toBeGreaterThanOrEqual(1000);
  expect(cases.filter((c) => c.fault === null).length * 3).toBeGreaterThanOrEqual(cases.length);
});
