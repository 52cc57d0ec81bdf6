/** The first faults, each argued from its mechanism. */
import { expect, test } from "vitest";
import { benchVehicle, benchVehicles } from "../../adapters/bench/index.ts";
import {
  least,
  listening,
  mean,
  most,
  read,
  sample,
  socketVolts,
  start,
  trueSpeed,
  watch,
} from "./readings.ts";
import { Typist } from "./support.ts";

const vehicles = benchVehicles.map((v) => v.id);

/** Rest voltage, and speed and voltage over four seconds of cranking that is not let to catch. */
async function crank(vehicle: string, faults: { name: string; severity: number }[]) {
  const t = await listening(new Typist({ vehicle, faults }));
  const rest = await socketVolts(t);
  t.key("crank");
  await t.wait(0.5);
  const turning = mean(await trueSpeed(t, 1));
  const sagged = mean(await watch(t, 1, () => t.bench.engine.electrics.volts));
  const s = await sample(t, ["rpm", "volts"], 4);
  return { t, rest, s, turning, sagged };
}

test.each(vehicles)(
  "%s: without a crank signal the starter turns, the supply sags, and speed reads 0",
  async (id) => {
    const { rest, s, turning } = await crank(id, [{ name: "no-crank-signal", severity: 1 }]);
    expect(most(s.rpm)).toBe(0);
    // It does turn: the current of a turning starter, not of a stalled one, pulls the supply down.
    expect(turning).toBeGreaterThan(120);
    expect(mean(s.volts)).toBeGreaterThan(9.6);
    expect(mean(s.volts)).toBeLessThan(rest - 0.5);
  },
);

test.each(vehicles)(
  "%s: without a crank signal there is no pump after its prime, no injection and no spark",
  async (id) => {
    const { t } = await crank(id, [{ name: "no-crank-signal", severity: 1 }]);
    expect(t.bench.engine.orders.pump).toBe(false);
    expect(Math.max(...t.bench.engine.mixture.film)).toBe(0);
    expect(Math.max(...t.bench.engine.burned)).toBe(0);
  },
);

test.each(vehicles)("%s: a weak battery rests lower, sags deeper and turns the engine slower", async (id) => {
  const healthy = await crank(id, [{ name: "no-crank-signal", severity: 1 }]);
  const weak = await crank(id, [
    { name: "no-crank-signal", severity: 1 },
    { name: "weak-battery", severity: 1 },
  ]);
  // At the socket two batteries in series have twice the volts of one; the engine model counts by one.
  const { series = 1 } = benchVehicle(id);
  // About a quarter charged: 12.06 V at rest (class sheet, ASE L1 study guide 2.3), less a little for the module.
  expect(weak.rest / series).toBeLessThan(12.2);
  expect(healthy.rest / series).toBeGreaterThan(weak.rest / series + 0.2);
  expect(weak.sagged).toBeLessThan(9.6);
  expect(healthy.sagged).toBeGreaterThan(9.6);
  expect(weak.turning).toBeLessThan(0.8 * healthy.turning);
});

test("air behind the meter makes an air-flow-metered engine lean at idle, and less so at speed", async () => {
  const sums = async (severity: number): Promise<{ idle: number; held: number }> => {
    const faults = [{ name: "unmetered-air", severity }];
    const t = await listening(new Typist({ vehicle: "garden-van", faults, coldStartC: 85 }));
    await start(t);
    await t.wait(90);
    const idle = await sample(t, ["short1", "long1"], 30);
    t.bench.hold(2500);
    await t.wait(40);
    const held = await sample(t, ["short1", "long1"], 20);
    return { idle: mean(idle.short1) + mean(idle.long1), held: mean(held.short1) + mean(held.long1) };
  };
  const healthy = await sums(0);
  const leaking = await sums(0.5);
  // A constant leak is a share of the air that shrinks as the flow grows ("Fuel trim diagnostics", common practice).
  expect(leaking.idle).toBeGreaterThan(healthy.idle + 8);
  expect(leaking.held).toBeLessThan(healthy.held + 0.6 * (leaking.idle - healthy.idle));
  expect(leaking.held).toBeGreaterThan(healthy.held);
});

test("air behind the throttle of a manifold-pressure-metered engine is measured all the same: not lean", async () => {
  const at = async (severity: number): Promise<{ trim: number; area: number }> => {
    const faults = [{ name: "unmetered-air", severity }];
    const t = await listening(new Typist({ vehicle: "old-hatch", faults, coldStartC: 85 }));
    await start(t);
    await t.wait(90);
    const s = await sample(t, ["short1", "long1"], 30);
    // With the accessory off; it asks for air of its own.
    const area = least(await watch(t, 40, () => t.bench.module.idle.area));
    return { trim: mean(s.short1) + mean(s.long1), area };
  };
  const healthy = await at(0);
  const leaking = await at(0.6);
  expect(Math.abs(leaking.trim - healthy.trim)).toBeLessThan(4);
  // Idle control closes its valve by about what leaks in.
  expect(leaking.area).toBeLessThan(healthy.area - 1e-6);
});

test("a crank contact that opens now and then makes speed come and go while the engine keeps turning", async () => {
  const t = await listening(
    new Typist({ vehicle: "old-hatch", faults: [{ name: "no-crank-signal", severity: 0.5 }] }),
  );
  t.key("crank");
  const s = await sample(t, ["rpm"], 8);
  expect(least(s.rpm)).toBe(0);
  expect(most(s.rpm)).toBeGreaterThan(100);
});

test("unknown vehicles, faults and severities out of nowhere are refused by name", async () => {
  expect(() => new Typist({ vehicle: "no-such" })).toThrow(
    expect.objectContaining({ code: "bench-unknown" }),
  );
  const t = new Typist({ vehicle: "old-hatch" });
  expect(() => {
    t.bench.act({ act: "fault", name: "no-such", severity: 1 });
  }).toThrow(expect.objectContaining({ code: "bench-unknown" }));
  await read(t, "rpm");
});
