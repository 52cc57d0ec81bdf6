/** Practising: what is hidden stays hidden, and each fault has a repair that mends it. */
import { expect, test } from "vitest";
import {
  allBenchVehicles,
  Bench,
  benchFaults,
  benchVehicle,
  faultsOf,
  mendedBy,
  practiceCases,
  practised,
} from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/index.ts";
import { causes } from "../../src/interpret/causes/tables/causes.ts";

test("five cases, each of a fault that its vehicle can have, and their words do not name it", () => {
  expect(practiceCases).toHaveLength(5);
  for (const { id, title, story, vehicle, fault } of practiceCases) {
    const row = faultsOf(benchVehicle(vehicle)).find((f) => f.id === fault.name);
    expect(row, id).toBeDefined();
    const said = `${id} ${title} ${story}`.toLowerCase();
    expect(said).not.toContain(fault.name);
    expect(said).not.toContain(row?.name.toLowerCase());
  }
});

test("every fault of the bench vehicle is mended by causes of the tables", () => {
  const known = new Set<string>(causes.map((c) => c.id));
  expect(Object.keys(mendedBy).sort()).toEqual(benchFaults.map((f) => f.id).sort());
  for (const [fault, by] of Object.entries(mendedBy)) {
    expect(by.length, fault).toBeGreaterThan(0);
    for (const cause of by) expect(known.has(cause), cause).toBe(true);
  }
});

test("a surprise is a fault that the vehicle can have, any of them, and bad enough to be met", () => {
  for (const vehicle of allBenchVehicles) {
    const all = faultsOf(vehicle).map((f) => f.id);
    const drawn = new Set<string>();
    for (let i = 0; i < 200; i++) {
      const { faults, hidden } = practised(vehicle.id, [{ name: "surprise", severity: 1 }], () => i / 200);
      expect(hidden).toBe(true);
      expect(faults[0]?.severity).toBeGreaterThanOrEqual(0.8);
      drawn.add(faults[0]?.name ?? "");
    }
    expect([...drawn].sort()).toEqual(all.sort());
  }
  const open = [{ name: "relay-open", severity: 1 }];
  expect(practised("garden-van", open, () => 0.5)).toEqual({ faults: open, hidden: false });
});

test("the state tells nothing of a hidden fault until it is asked for, and the engine has it all the same", () => {
  const clock = new VirtualClock();
  const faults = [{ name: "relay-open", severity: 1 }];
  const bench = new Bench({ vehicle: "garden-van", faults, hidden: true, clock });
  expect(bench.state()).toMatchObject({ faults: [], hidden: true });
  expect(bench.faults).toEqual(faults);
  expect(bench.reveal()).toEqual(faults);
  expect(bench.state()).toMatchObject({ faults: ["relay-open"], hidden: false });
});

test("faults that are named can be hidden as well", () => {
  const named = [
    { name: "hidden", severity: 1 },
    { name: "relay-open", severity: 0.7 },
  ];
  expect(practised("garden-van", named, () => 0)).toEqual({
    faults: [{ name: "relay-open", severity: 0.7 }],
    hidden: true,
  });
});
