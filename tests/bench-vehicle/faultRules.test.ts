/** What holds for all faults alike: each is argued for, none at severity 0 is there, and any may come together. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { benchFaults, benchVehicles, faultsOf } from "../../adapters/bench/index.ts";
import type { BenchFault } from "../../shared/address.ts";
import { dryCrank, fault, running, trim } from "./faultRuns.ts";
import { Typist } from "./support.ts";

/** Everything that is heard while it is cranked for two seconds and runs, or does not, for six more. */
async function heard(vehicle: string, faults: readonly BenchFault[], seed = 1): Promise<string> {
  const t = await new Typist({ vehicle, faults, seed }).quiet();
  const all: string[] = [];
  const asked = async (seconds: number): Promise<void> => {
    const until = t.clock.now() + seconds * 1000;
    while (t.clock.now() < until) {
      for (const command of ["010C1", "ATRV", "010B1", "01061"]) all.push(await t.raw(command));
    }
  };
  t.key("on");
  await asked(1);
  t.key("crank");
  await asked(2);
  t.key("on");
  await asked(6);
  return all.join("");
}

test("there are at least thirty faults, and each is named in a test that argues for it", () => {
  const here = import.meta.dirname;
  const texts = readdirSync(here)
    .filter((name) => name.endsWith(".test.ts") && name !== "faultRules.test.ts")
    .map((name) => readFileSync(join(here, name), "utf8"))
    .join("\n");
  expect(benchFaults.length).toBeGreaterThanOrEqual(30);
  expect(benchFaults.map(({ id }) => id).filter((id) => !texts.includes(id))).toEqual([]);
});

test.each(benchVehicles.map((v) => [v.id, v] as const))(
  "%s with every fault at severity 0 says the very bytes of the healthy one, and others with one of them at 1",
  async (id, vehicle) => {
    const none = faultsOf(vehicle).map(({ id: name }) => ({ name, severity: 0 }));
    const healthy = await heard(id, []);
    expect(await heard(id, none)).toBe(healthy);
    const [first, ...rest] = none;
    expect(await heard(id, [{ name: first?.name ?? "", severity: 1 }, ...rest])).not.toBe(healthy);
  },
);

test("any few faults together, at any severity, keep every physical number finite, and repeat to the byte", async () => {
  const vehicles = fc.constantFrom(...benchVehicles);
  const cases = vehicles.chain((vehicle) =>
    fc.record({
      id: fc.constant(vehicle.id),
      names: fc.uniqueArray(fc.constantFrom(...faultsOf(vehicle).map((f) => f.id)), {
        minLength: 2,
        maxLength: 4,
      }),
      severity: fc.double({ min: 0.05, max: 1, noNaN: true }),
      seed: fc.integer({ min: 1, max: 1000 }),
    }),
  );
  await fc.assert(
    fc.asyncProperty(cases, async ({ id, names, severity, seed }) => {
      const faults = names.map((name) => ({ name, severity }));
      const once = await heard(id, faults, seed);
      expect(once).not.toMatch(/NaN|undefined|Infinity/);
      expect(await heard(id, faults, seed)).toBe(once);
      const t = new Typist({ vehicle: id, faults, seed });
      t.key("crank");
      await t.wait(2);
      const { engine } = t.bench;
      const numbers = [engine.electrics.volts, engine.electrics.moduleVolts, engine.electrics.starterAmp];
      expect([...numbers, engine.manifold.pressure].every(Number.isFinite)).toBe(true);
    }),
    { seed: 7, numRuns: 25 },
  );
}, 120_000);

test("weak-battery with starter-drag turns slower than either alone: the current asked for is what the cell resists", async () => {
  const both = await dryCrank("garden-van", [...fault("weak-battery", 0.6), ...fault("starter-drag", 0.6)]);
  const battery = await dryCrank("garden-van", fault("weak-battery", 0.6));
  const starter = await dryCrank("garden-van", fault("starter-drag", 0.6));
  expect(both.speed).toBeLessThan(Math.min(battery.speed, starter.speed));
  expect(both.volts).toBeLessThan(Math.min(battery.volts, starter.volts));
});

test("unmetered-air with injectors-clogged is leaner at idle than either alone: both ask for more fuel", async () => {
  const both = await trim(
    await running("garden-van", [...fault("unmetered-air", 0.3), ...fault("injectors-clogged", 0.3)]),
  );
  const air = await trim(await running("garden-van", fault("unmetered-air", 0.3)));
  const clogged = await trim(await running("garden-van", fault("injectors-clogged", 0.3)));
  expect(both).toBeGreaterThan(Math.max(air, clogged) + 2);
});
