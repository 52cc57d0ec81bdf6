/** What a crank is told as while it happens, on made-up readings and on the bench vehicle's through the real session. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { socketVoltage } from "../../shared/decode.ts";
import { LiveCranks, liveLimits, type LiveCrank, type LiveState } from "../../src/interpret/crank/live.ts";
import { liveOptionsOf } from "../../src/interpret/crank/liveOf.ts";
import {
  crankClock,
  figuresLine,
  headline,
  starterOn,
  stillOpen,
  trend,
} from "../../src/interpret/crank/liveWords.ts";
import { LiveSupply, stepLimits } from "../../src/interpret/crank/liveSupply.ts";
import { StoreWalk } from "../../src/interpret/folds/merge.ts";
import { interpret, VehicleRanges } from "../../src/interpret/index.ts";
import { kindIn, kindText } from "../../src/interpret/report/ranges.ts";
import { Reading } from "../../src/reading/index.ts";
import { benchRecording, readText } from "../support/benchRecording.ts";

const options = { slowBelow: 140, runAt: 450, leastVolts: 9.6 };

interface Scene {
  readonly volts?: (t: number) => number;
  readonly rpm?: (t: number) => number;
  readonly kpa?: (t: number) => number;
  readonly everyMs?: number;
  readonly until: number;
}

interface Told {
  readonly t: number;
  readonly crank: LiveCrank;
}

/** Readings every so often, and what is told at each step of 50 ms. */
function played({ volts, rpm, kpa, everyMs = 100, until }: Scene): { told: Told[]; live: LiveCranks } {
  const live = new LiveCranks(options);
  const told: Told[] = [];
  for (let t = 0; t <= until; t += 50) {
    if (t % everyMs === 0) {
      if (volts !== undefined) live.take(socketVoltage, "adapter", t, volts(t));
      if (rpm !== undefined) live.take("engine-speed", "7E8", t + 1, rpm(t));
      if (kpa !== undefined) live.take("manifold", "7E8", t + 2, kpa(t));
    }
    const crank = live.tell(t + 2);
    if (crank !== null) told.push({ t: t + 2, crank });
  }
  return { told, live };
}

const states = (told: readonly Told[]): LiveState[] =>
  told.map(({ crank }) => crank.state).filter((s, i, all) => s !== all[i - 1]);
const first = (told: readonly Told[], fits: (c: LiveCrank) => boolean): Told => {
  const found = told.find(({ crank }) => fits(crank));
  if (found === undefined) throw new Error(`never told: ${states(told).join(", ")}`);
  return found;
};

/** Starter on from 2 to 6 s. */
const starterVolts =
  (held: number) =>
  (t: number): number =>
    t < 2000 ? 12.5 : t < 2100 ? held - 1 : t < 6000 ? held + 0.1 * Math.sin(t / 37) : 12.3;
const turning =
  (at: number) =>
  (t: number): number =>
    t < 2300 || t >= 6400 ? 0 : t >= 6000 ? 120 : at;

test("turns and does not fire: told from the first speed on, and final within a second of the release", () => {
  const { told } = played({
    volts: starterVolts(11.2),
    rpm: turning(187),
    kpa: (t) => (t < 2300 ? 100 : 91),
    until: 9000,
  });
  expect(states(told)).toEqual(["starter", "turning", "released", "no-fire"]);
  const held = told.findLast(({ t, crank }) => t < 6000 && crank.state === "turning");
  expect(headline(held?.crank ?? never())).toMatch(/^Turning 187 rpm, 11\.\d V$/);
  expect(stillOpen(held?.crank ?? never())).toBe("it may still fire");
  const final = first(told, (c) => !c.provisional);
  expect(final.t).toBeLessThanOrEqual(7000);
  expect(headline(final.crank)).toBe("Turned 187 rpm for 4.0 s, did not fire");
  expect(stillOpen(final.crank)).toBeNull();
  expect(figuresLine(final.crank)).toBe(
    "first crank · lowest 10.2 V, mean 11.2 V · fast enough for its voltage · pull-down 9 kPa",
  );
  // It stays until the next key.
  expect(told.at(-1)?.crank).toEqual(final.crank);
});

function never(): never {
  throw new Error("not told");
}

test.each([
  ["answered with zero", (): number => 0, "no-speed"],
  ["asked and not answered", (): number => Number.NaN, "no-answer"],
  ["never asked", undefined, "no-answer"],
] as const)("starter draws and no speed comes, %s: told within 1.5 s of the sag", (_, rpm, state) => {
  const { told } = played({ volts: starterVolts(11.2), ...(rpm === undefined ? {} : { rpm }), until: 9000 });
  const at = first(told, (c) => c.state === state);
  expect(at.t).toBeLessThanOrEqual(3500);
  expect(at.t).toBeGreaterThanOrEqual(1900 + liveLimits.noSpeedMs);
  const final = first(told, (c) => !c.provisional);
  expect(final.crank.state).toBe(state);
  expect(final.t).toBeLessThanOrEqual(7000);
});

test("four readings a second are enough: no speed within 1.5 s, final within two", () => {
  const { told } = played({ volts: starterVolts(11.2), rpm: () => 0, everyMs: 250, until: 9000 });
  expect(first(told, (c) => c.state === "no-speed").t).toBeLessThanOrEqual(3502);
  expect(first(told, (c) => !c.provisional).t).toBeLessThanOrEqual(8000);
});

test("voltage that was read late tells of a sag that began before: no speed within 1.5 s of that", () => {
  const live = new LiveCranks(options);
  for (let t = 0; t <= 2000; t += 500) live.take(socketVoltage, "adapter", t, 12.5);
  // The starter came on just behind the reading at 2 s.
  for (let t = 2700; t <= 3500; t += 200) live.take(socketVoltage, "adapter", t, 11.2);
  for (let t = 2200; t <= 3500; t += 250) live.take("engine-speed", "10", t, 0);
  expect(live.tell(2900)?.state).toBe("starter");
  expect(live.tell(3450)?.state).toBe("no-speed");
});

test("slow at volts that hold is hard to turn; slow with volts that fall is a weak supply", () => {
  const hard = played({ volts: starterVolts(11.2), rpm: turning(92), until: 5000 }).told.at(-1)?.crank;
  expect(headline(hard ?? never())).toMatch(/^Turns slowly for its voltage: 92 rpm at 11\.2 V$/);
  const weak = played({ volts: starterVolts(8.9), rpm: turning(92), until: 5000 }).told.at(-1)?.crank;
  expect(headline(weak ?? never())).toMatch(/^Turns slowly, 92 rpm: the supply falls to 8\.\d V$/);
});

test("fires: told with the second reading of a running engine, started once it ran five seconds", () => {
  const rpm = (t: number): number => (t < 2300 ? 0 : t < 3100 ? 190 : 900);
  const volts = (t: number): number => (t < 2000 ? 12.5 : t < 3100 ? 11.2 : 14);
  const { told } = played({ volts, rpm, until: 9500 });
  expect(states(told)).toEqual(["starter", "turning", "fired", "runs"]);
  const fired = first(told, (c) => c.state === "fired");
  expect(fired.t).toBeLessThanOrEqual(3300);
  expect(headline(fired.crank)).toBe("Fired at 1.1 s, has run 0.1 s");
  const runs = first(told, (c) => c.state === "runs");
  expect(runs.t - (2000 + 1100 + 5000)).toBeLessThanOrEqual(1000);
  expect(headline(runs.crank)).toBe("Started: fired at 1.1 s, runs");
});

test("fires and dies: final within a second of its stop", () => {
  const rpm = (t: number): number => (t < 2300 ? 0 : t < 3100 ? 190 : t < 4000 ? 800 : 0);
  const volts = (t: number): number => (t < 2000 ? 12.5 : t < 3100 ? 11.2 : 13);
  const { told } = played({ volts, rpm, until: 7000 });
  const died = first(told, (c) => c.state === "died");
  expect(died.t).toBeLessThanOrEqual(5000);
  expect(headline(died.crank)).toBe("Fires and dies: fired at 1.1 s, ran 0.9 s");
});

test("stops under the starter, told from its volts apart from a signal that is lost", () => {
  const rpm = (t: number): number => (t < 2300 || t >= 4000 ? 0 : 180);
  const held = (t: number): number => (t < 2000 || t >= 6000 ? 12.5 : t < 4000 ? 11.2 : 9.5);
  const lost = (t: number): number => (t < 2000 || t >= 6000 ? 12.5 : 11.2);
  expect(states(played({ volts: held, rpm, until: 8000 }).told)).toEqual([
    ...["starter", "turning", "stopped", "released", "stopped"],
  ]);
  const told = states(played({ volts: lost, rpm, until: 8000 }).told);
  expect(told).toContain("lost");
  expect(told.at(-1)).toBe("no-fire");
});

test("the word leaves 'starter on' within half a second of the step, whatever the speed says", () => {
  const { told } = played({ volts: starterVolts(11.2), rpm: () => 0, until: 9000 });
  const left = told.find(({ t, crank }) => t > 6000 && !starterOn(crank));
  expect((left?.t ?? Infinity) - 6000).toBeLessThanOrEqual(500);
});

test("the recovery from the inrush is no release", () => {
  const volts = (t: number): number =>
    t < 2000 ? 12.5 : t < 6000 ? 11.4 - 2.2 * Math.exp(-(t - 2000) / 150) : 12.3;
  const { live } = played({ volts, rpm: () => 0, until: 9000 });
  expect(live.past).toHaveLength(1);
  expect(live.past[0]?.crankedS).toBeCloseTo(4, 1);
});

test("one low reading is no crank, and a running engine's load is none", () => {
  const spike = played({ volts: (t) => (t === 3000 ? 10.5 : 12.5), rpm: () => 0, until: 6000 });
  expect(spike.live.past).toEqual([]);
  expect(spike.live.tell(6000)).toBeNull();
  const load = played({ volts: (t) => (t < 3000 ? 14 : 11.5), rpm: () => 800, until: 6000 });
  expect(load.live.tell(6000)).toBeNull();
});

test("silence is told as silence: nothing stands as if it were now", () => {
  const live = new LiveCranks(options);
  for (let t = 0; t < 2000; t += 100) live.take(socketVoltage, "adapter", t, 12.5);
  for (let t = 2000; t < 2500; t += 100) live.take(socketVoltage, "adapter", t, 11);
  expect(stillOpen(live.tell(2500) ?? never())).toMatch(/first RPM/);
  expect(stillOpen(live.tell(6000) ?? never())).toBe("nothing heard for 4 s");
});

test("the third attempt is held against the second in one line", () => {
  const at = [11.2, 11.2, 10.6];
  const speeds = [200, 199, 187];
  const one = (t: number): number => t % 15_000;
  const { told, live } = played({
    volts: (t) => starterVolts(at[Math.floor(t / 15_000)] ?? 11)(one(t)),
    rpm: (t) => turning(speeds[Math.floor(t / 15_000)] ?? 0)(one(t)),
    until: 44_000,
  });
  const third = told.at(-1)?.crank ?? never();
  expect(third.number).toBe(3);
  expect(trend(third, live.past)).toBe(
    "third crank against the second: 12 rpm slower, 0.6 V lower, battery is giving in",
  );
  expect(trend(live.past[1] ?? never(), live.past)).toBe("second crank against the first: 1 rpm slower");
  expect(trend(live.past[0] ?? never(), live.past)).toBeNull();
});

test("the starter's clock counts up while it turns and gives back in the pause", () => {
  const { live } = played({ volts: starterVolts(11.2), rpm: turning(187), until: 5000 });
  const during = crankClock(live.past, live.tell(5000), 5000);
  expect(during.usedS).toBeCloseTo(3, 1);
  expect(during.restLeftS).toBe(0);
  const { live: over } = played({ volts: starterVolts(11.2), rpm: turning(187), until: 8000 });
  expect(crankClock(over.past, over.tell(8000), 8000).restLeftS).toBeCloseTo(2, 1);
  expect(crankClock(over.past, over.tell(8000), 30_000).restLeftS).toBe(0);
  const long = played({ volts: (t) => (t < 2000 ? 12.5 : 11), rpm: turning(187), until: 17_500 });
  expect(crankClock(long.live.past, long.live.tell(17_500), 17_500).over).toBe(true);
});

test("whatever is read, it never throws, attempts follow one another, and a final word stays as it was", () => {
  const reading = fc.record({
    channel: fc.constantFrom("engine-speed", socketVoltage, "module-voltage", "manifold", "barometric"),
    module: fc.constantFrom("7E8", "7E9"),
    gap: fc.integer({ min: 0, max: 900 }),
    value: fc.oneof(
      fc.double({ min: 0, max: 30, noNaN: true }),
      fc.double({ min: 0, max: 2000, noNaN: true }),
      fc.constant(Number.NaN),
    ),
  });
  fc.assert(
    fc.property(fc.array(reading, { maxLength: 120 }), (readings) => {
      const live = new LiveCranks(options);
      let t = 0;
      const finals: LiveCrank[] = [];
      for (const { channel, module, gap, value } of readings) {
        t += gap;
        live.take(channel, module, t, value);
        const told = live.tell(t);
        if (told !== null) {
          headline(told);
          figuresLine(told);
          trend(told, live.past);
          expect(crankClock(live.past, told, t).usedS).toBeGreaterThanOrEqual(0);
          if (!told.provisional && !finals.some((f) => f.number === told.number)) finals.push(told);
        }
      }
      expect(live.past.map((p) => p.number)).toEqual(live.past.map((_, i) => i + 1));
      for (const f of finals) expect(live.past[f.number - 1]).toEqual(f);
      for (const [i, p] of live.past.entries()) {
        expect(p.to).toBeGreaterThanOrEqual(p.from);
        expect(p.from).toBeGreaterThanOrEqual(live.past[i - 1]?.from ?? 0);
      }
    }),
  );
});

/** What is told of a bench recording, at each 50 ms. */
async function ofBench(vehicle: string, script: string, fault?: string): Promise<LiveCranks> {
  const faults = fault === undefined ? [] : [{ name: fault, severity: 1 }];
  const reading = readText(await benchRecording({ vehicle, script, faults }));
  const live = new LiveCranks(options);
  const walk = new StoreWalk(reading.channels);
  walk.advance(reading.lastTime, (...sample) => live.take(...sample));
  return live;
}

test.each([
  ["garden-van", "crank-only", "ignition-dead", ["no-fire", "no-fire", "no-fire"]],
  ["garden-van", "crank-only", "no-crank-signal", ["no-speed", "no-speed", "no-speed"]],
  ["hay-truck", "crank-only", "no-crank-signal", ["no-speed", "no-speed", "no-speed"]],
  ["old-hatch", "crank-only", "pump-dead", ["no-fire", "no-fire", "no-fire"]],
  ["garden-van", "start-and-idle", undefined, ["runs"]],
  ["harbour-diesel", "cold-crank", undefined, ["runs"]],
  ["garden-van", "start-and-idle", "immobiliser", ["died"]],
] as const)("bench vehicle %s, %s, %s: told as %j", async (vehicle, script, fault, expected) => {
  const live = await ofBench(vehicle, script, fault);
  expect(live.past.map((p) => p.state)).toEqual(expected);
});

test("what is slow goes by the fuel as the finished crank does: told, else by the findings so far, else by the module", async () => {
  const reading = readText(await benchRecording({ vehicle: "quarry-lorry", script: "start-and-idle" }));
  const seen = kindIn(kindText(interpret(reading, {}).profile));
  const silent = new Reading("nothing was read");
  const below = (...ranges: ConstructorParameters<typeof VehicleRanges>): number =>
    liveOptionsOf(silent, new VehicleRanges(...ranges)).slowBelow;
  const diesel = below({ fuel: "diesel" });
  const petrol = below({ fuel: "petrol" });
  expect(diesel).not.toBe(petrol);
  expect(seen?.fuel).toBe("diesel");
  expect(below({}, seen)).toBe(diesel);
  expect(below({ fuel: "petrol" }, seen)).toBe(petrol);
  // Of an unknown fuel only what is slow for either is slow.
  expect(below({})).toBe(Math.min(petrol, diesel));
});

test("volts of a meter that went quiet do not stand for now: the other one is followed, and the adapter's own again", () => {
  const supply = new LiveSupply();
  supply.take(socketVoltage, 0, 12.6, false);
  supply.take("module-voltage", 1000, 11.9, false);
  expect(supply.now).toBe(12.6);
  supply.take("module-voltage", stepLimits.staleMs + 100, 11.9, false);
  expect(supply.now).toBe(11.9);
  supply.take(socketVoltage, stepLimits.staleMs + 200, 12.5, false);
  expect(supply.now).toBe(12.5);
});
