/** Scripts on every vehicle, repeatability, and what a long silence costs. */
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import {
  Bench,
  benchFaults,
  benchScripts,
  benchVehicleInfo,
  allBenchVehicles,
  benchVehicles,
  faultsOf,
  handChecks,
  measure,
  runScript,
} from "../../adapters/bench/index.ts";

interface Trace {
  readonly speeds: number[];
  readonly kmh: number[];
  readonly bench: Bench;
}

async function trace(vehicle: string, script: string, seed = 1): Promise<Trace> {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({ vehicle, clock, seed });
  const speeds: number[] = [];
  const kmh: number[] = [];
  const run = runScript(bench, script, clock, () => {
    bench.catchUp();
    speeds.push(bench.engine.rpm);
    kmh.push(bench.engine.road.kmh);
  });
  await clock.run(run, 4_000_000);
  return { speeds, kmh, bench };
}

const max = (list: readonly number[]): number => Math.max(...list);

const pairs = benchVehicles.flatMap((v) => benchScripts.map((s) => [v.id, s.id] as const));

test.each(pairs)("%s runs through %s and does what the script says", async (id, script) => {
  const { speeds, kmh, bench } = await trace(id, script);
  const top = max(speeds);
  if (script === "key-on") expect(top).toBe(0);
  else expect(top).toBeGreaterThan(500);
  if (script === "cruise" || script === "visit") expect(max(kmh)).toBeGreaterThan(75);
  if (script === "hold-2500" || script === "sealed-intake") {
    const held = speeds.filter((s) => Math.abs(s - 2500) < 125);
    expect(held.length).toBeGreaterThan(40);
  }
  if (script === "snap") expect(top).toBeGreaterThan(2000);
  if (script === "shut-off") expect(bench.engine.rpm).toBe(0);
  expect([...bench.module.codes.stored]).toEqual([]);
});

test("a run is fixed by vehicle, faults, script and seed, and another seed is another run", async () => {
  const first = await trace("garden-van", "snap", 7);
  const again = await trace("garden-van", "snap", 7);
  const other = await trace("garden-van", "snap", 8);
  expect(again.speeds).toEqual(first.speeds);
  expect(other.speeds).not.toEqual(first.speeds);
});

test("how often somebody asks does not change what the engine does", () => {
  const end = (stepMs: number): number => {
    const clock = new VirtualClock(undefined, 64);
    const bench = new Bench({ vehicle: "old-hatch", clock, seed: 3 });
    bench.act({ act: "key", to: "on" });
    clock.advance(2000);
    bench.act({ act: "key", to: "crank" });
    for (let t = 0; t < 30_000; t += stepMs) {
      if (t === 3000) bench.act({ act: "key", to: "on" });
      clock.advance(stepMs);
      bench.catchUp();
    }
    return bench.engine.rpm;
  };
  expect(end(1000)).toBe(end(50));
});

test("after hours of silence the vehicle answers at once, and does not count what it skipped", () => {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({ vehicle: "hay-truck", clock });
  bench.act({ act: "key", to: "on" });
  clock.advance(30 * 3600 * 1000);
  bench.catchUp();
  expect(bench.steps).toBeLessThanOrEqual(600_000);
});

test("unknown scripts, hand checks, cylinders are refused by name", async () => {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({ vehicle: "old-hatch", clock });
  const unknown = expect.objectContaining({ code: "bench-unknown" }) as unknown;
  await expect(runScript(bench, "no-such", clock)).rejects.toEqual(unknown);
  expect(() => measure(bench, "no-such")).toThrow(expect.objectContaining({ code: "bench-unknown" }));
  expect(() => measure(bench, "spark", 5)).toThrow(expect.objectContaining({ code: "bench-unknown" }));
  expect(() => {
    bench.act({ act: "unplug", cylinder: 6, on: true });
  }).toThrow(expect.objectContaining({ code: "bench-unknown" }));
  // The diesel has no coils: a fault that does not fit is refused too.
  const diesel = new Bench({ vehicle: "harbour-diesel", clock });
  expect(() => {
    diesel.act({ act: "fault", name: "ignition-dead", severity: 1 });
  }).toThrow(expect.objectContaining({ code: "bench-unknown" }));
});

test("every hand check answers on every vehicle, errs a little, and leaves the vehicle as it was", () => {
  for (const { id } of benchVehicles) {
    const clock = new VirtualClock(undefined, 64);
    const bench = new Bench({ vehicle: id, clock, seed: 2 });
    bench.act({ act: "key", to: "on" });
    clock.advance(3000);
    const before = bench.state();
    for (const check of handChecks) {
      const reading = measure(bench, check.id, check.cylinder ? 1 : null);
      expect(reading.unit).toBe(check.unit);
      expect(reading.value !== null || reading.words !== "", `${id} ${check.id}`).toBe(true);
    }
    expect(bench.state()).toEqual(before);
    const readings = Array.from({ length: 6 }, () => measure(bench, "compression", 1).value ?? 0);
    expect(new Set(readings).size).toBeGreaterThan(1);
    expect(max(readings) / Math.min(...readings)).toBeLessThan(1.08);
  }
});

test("tables: unique ids, thirty faults or more, each vehicle listed with those it can have", () => {
  for (const ids of [
    benchFaults.map((f) => f.id),
    allBenchVehicles.map((v) => v.id),
    benchScripts.map((s) => s.id),
  ]) {
    expect(new Set(ids).size).toBe(ids.length);
    for (const id of ids) expect(id).toMatch(/^[a-z0-9-]+$/);
  }
  expect(benchFaults.length).toBeGreaterThanOrEqual(30);
  for (const info of benchVehicleInfo()) {
    const vehicle = allBenchVehicles.find((v) => v.id === info.id);
    expect(vehicle).toBeDefined();
    if (vehicle !== undefined)
      expect(info.faults.map((f) => f.id)).toEqual(faultsOf(vehicle).map((f) => f.id));
    expect(info.name.toLowerCase()).toContain("invented");
  }
});

test("every fault at every severity, and pairs of them, turn without a number going astray", async () => {
  for (const vehicle of benchVehicles) {
    const faults = faultsOf(vehicle);
    for (const [i, { id }] of faults.entries()) {
      const other = faults[(i * 7 + 3) % faults.length]?.id ?? id;
      const clock = new VirtualClock(undefined, 64);
      const pair = [{ name: id, severity: 1 }, ...(other === id ? [] : [{ name: other, severity: 0.5 }])];
      const bench = new Bench({ vehicle: vehicle.id, faults: pair, clock, seed: i });
      await clock.run(runScript(bench, "start-and-idle", clock));
      const { engine, module } = bench;
      const numbers = [
        ...[engine.rpm, engine.manifold.pressure, engine.electrics.volts, engine.heat.coolantC],
        ...[engine.mixture.rail, module.senses.airFlow, module.load(), engine.exhaust.pressure],
        ...module.fuelling.trims.map((t) => t.short + t.longNow),
      ];
      expect(numbers.every(Number.isFinite), `${vehicle.id} ${id} + ${other}`).toBe(true);
      expect(engine.rpm).toBeLessThan(7000);
    }
  }
});
