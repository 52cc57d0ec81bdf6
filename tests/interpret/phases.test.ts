import { expect, test } from "vitest";
import { nextPhase, type Phase } from "../../src/interpret/folds/phases.ts";
import { Watches } from "../../src/interpret/folds/watches.ts";

/** Watches that took these speeds, a second apart, and the supply beside them. */
function watchesOf(speeds: readonly number[], volts: readonly number[] = []): Watches {
  const watches = new Watches(400, false);
  for (let i = 0; i < Math.max(speeds.length, volts.length); i++) {
    const rpm = speeds[i];
    const supply = volts[i];
    watches.take(
      1000 * i,
      [
        ...(rpm === undefined ? [] : [{ channel: "engine-speed", module: "7E8", value: rpm }]),
        ...(supply === undefined ? [] : [{ channel: "module-voltage", module: "7E8", value: supply }]),
      ],
      false,
    );
  }
  return watches;
}

const stopped: Phase = { at: "stopped", from: 0 };
const turning: Phase = { at: "turning", from: 0 };
const running: Phase = { at: "running", from: 0, lastRun: 1000 };

test("two readings at cranking speed turn a stopped engine, from the first of them on", () => {
  expect(nextPhase(stopped, watchesOf([0, 200]), 1000)).toBeNull();
  expect(nextPhase(stopped, watchesOf([0, 200, 210]), 2000)).toEqual({
    phase: { at: "turning", from: 1000 },
    cuts: [{ from: 1000, regime: "cranking" }],
    anew: false,
  });
});

test("an engine that was at cranking speed before it ran was cranked", () => {
  expect(nextPhase(stopped, watchesOf([0, 200, 900, 900, 900]), 4000)).toEqual({
    phase: { at: "running", from: 2000, lastRun: 2000 },
    cuts: [{ from: 1000, regime: "cranking" }],
    anew: true,
    runs: "started",
  });
});

test("an engine that ran when listening began was not started", () => {
  const step = nextPhase({ at: "unknown", from: 0 }, watchesOf([900, 900]), 1000);
  expect(step).toMatchObject({ phase: { at: "running", from: 0 }, runs: "ran before" });
});

test("a starter that is let go leaves the key on, and the supply is judged anew", () => {
  expect(nextPhase(turning, watchesOf([200, 0]), 1000)).toBeNull();
  expect(nextPhase(turning, watchesOf([200, 0, 0, 0]), 3000)).toEqual({
    phase: { at: "stopped", from: 1000 },
    cuts: [{ from: 1000, regime: "key-on" }],
    anew: true,
  });
});

test("a supply that is pulled down without a speed is a crank that tells no speed, until it is back", () => {
  const rest = [12.6, 12.6, 12.6];
  const pulled = watchesOf([0, 0, 0, 0, 0, 0], [...rest, 10.4, 10.3, 10.4]);
  const step = nextPhase(stopped, pulled, 5000);
  expect(step).toMatchObject({
    phase: { at: "no-speed", from: 3000 },
    cuts: [{ from: 3000, regime: "no-speed" }],
  });
  expect(nextPhase({ at: "no-speed", from: 3000 }, pulled, 5000)).toBeNull();
});

test("an engine that dies has stalled, and stands with the key on a moment later", () => {
  const step = nextPhase(running, watchesOf([900, 900, 0, 0, 0, 0]), 5000);
  expect(step?.phase).toEqual({ at: "stopped", from: 2000 });
  expect(step?.cuts.map((cut) => cut.regime)).toEqual(["stall", "key-on"]);
  expect(nextPhase(running, watchesOf([900, 900, 0, 800]), 3000)).toBeNull();
});
