import fc from "fast-check";
import { expect, test } from "vitest";
import { Series } from "../../shared/channels.ts";
import { supplyLimits } from "../../shared/supply.ts";
import type { LiveCrank } from "../../src/interpret/crank/live.ts";
import {
  cueLimits,
  foldCue,
  freshValue,
  noCue,
  verdictCue,
  type Cue,
  type CueInput,
} from "../../src/page/lib/app/cues.ts";

function heard(inputs: readonly CueInput[]): [number, Cue][] {
  let state = noCue;
  const cues: [number, Cue][] = [];
  for (const input of inputs) {
    const step = foldCue(state, input);
    state = step.state;
    if (step.cue !== null) cues.push([input.t, step.cue]);
  }
  return cues;
}

/** Every so many milliseconds from one time up to another. */
type Span = readonly [ms: number, from: number, to: number];

const every = ([ms, from, to]: Span, volts: number, rpm: number | null): CueInput[] =>
  Array.from({ length: (to - from) / ms }, (_, i) => ({ t: from + i * ms, volts, rpm }));

test("the starter turns and the module sees it: one sound, at the first speed", () => {
  expect(
    heard([
      ...every([100, 0, 2000], 12.5, 0),
      ...every([100, 2000, 2400], 10.2, 0),
      ...every([100, 2400, 6000], 10.4, 190),
    ]),
  ).toEqual([[2400, "speed"]]);
});

test("the supply sags and no speed comes: the other sound after a second, again while it lasts", () => {
  const cues = heard([...every([100, 0, 2000], 12.5, 0), ...every([100, 2000, 8000], 9.8, 0)]);
  expect(cues).toEqual([
    [3000, "no-speed"],
    [7000, "no-speed"],
  ]);
});

test("the supply ripples as the starter turns the engine: still one sag, whatever reading comes first", () => {
  for (const first of [11.2, 11.7]) {
    const ripple = [first, 11.1, 11.3, 11.6, 11.2, 11.7, 11.5];
    const cranked = every([70, 2000, 4500], 0, 0).map((input, i) => ({
      ...input,
      volts: ripple[i % ripple.length] ?? 0,
    }));
    const cues = heard([...every([160, 0, 2000], 12.6, 0), ...cranked]);
    expect(cues.map(([, cue]) => cue)).toEqual(["no-speed"]);
    expect(cues[0]?.[0]).toBeLessThan(3200);
  }
});

test("a load that stays on is a new rest in the end", () => {
  const cues = heard([...every([100, 0, 1000], 12.6, 0), ...every([100, 1000, 60_000], 11.2, 0)]);
  expect(cues.length).toBeGreaterThan(0);
  expect(cues.at(-1)?.[0]).toBeLessThanOrEqual(1000 + supplyLimits.longestMs);
});

test("a vehicle that does not answer is heard by its supply alone", () => {
  expect(heard([...every([100, 0, 1000], 12.5, null), ...every([100, 1000, 3000], 10, null)])).toEqual([
    [2000, "no-speed"],
  ]);
});

test("an engine that is shut off is no sag", () => {
  expect(heard([...every([100, 0, 2000], 14.2, 800), ...every([100, 2000, 6000], 12.4, 0)])).toEqual([
    [0, "speed"],
  ]);
});

test("a reading that was missed while it turns is no new start", () => {
  const turning = every([500, 0, 20_000], 14, 800).map((input, i) =>
    i % 3 === 0 ? { ...input, rpm: null } : input,
  );
  expect(heard(turning)).toHaveLength(1);
});

test("whatever is read, a sound of one kind comes no more often than its rest", () => {
  const value = fc.option(fc.double({ min: 0, max: 16, noNaN: true }));
  const input = fc.record({
    dt: fc.integer({ min: 1, max: 800 }),
    volts: value,
    rpm: fc.option(fc.nat(900)),
  });
  fc.assert(
    fc.property(fc.array(input, { maxLength: 200 }), (steps) => {
      let t = 0;
      const cues = heard(steps.map(({ dt, volts, rpm }) => ({ t: (t += dt), volts, rpm })));
      for (const kind of ["speed", "no-speed"] as const) {
        const times = cues.filter(([, cue]) => cue === kind).map(([at]) => at);
        for (let i = 1; i < times.length; i++)
          expect((times[i] ?? 0) - (times[i - 1] ?? 0)).toBeGreaterThanOrEqual(cueLimits.restMs);
      }
    }),
  );
});

test("a reading counts while it is fresh, and one that was not answered does not", () => {
  const series = new Series("engine-speed", "7E8");
  expect(freshValue(undefined, 0)).toBeNull();
  expect(freshValue(series, 0)).toBeNull();
  series.append(100, 190);
  expect(freshValue(series, 100 + cueLimits.staleMs)).toBe(190);
  expect(freshValue(series, 101 + cueLimits.staleMs)).toBeNull();
  series.append(200, Number.NaN);
  expect(freshValue(series, 200)).toBeNull();
});

const crank: LiveCrank = {
  ...{ number: 1, from: 0, to: null, state: "turning", provisional: true, unheardS: null, rpm: 187 },
  ...{ speed: null, restVolts: 12.5, volts: 11.2, lowestVolts: 10.1, meanVolts: null, deep: false },
  ...{ slow: null, firedS: null, ranS: null, pullDown: null, crankedS: 1 },
};
const told = (...states: readonly Partial<LiveCrank>[]): (string | null)[] => {
  let before: LiveCrank | null = null;
  return states.map((state) => {
    const now = { ...crank, ...state };
    const cue = verdictCue(before, now);
    before = now;
    return cue;
  });
};

test("a verdict is heard when it becomes another one, and once", () => {
  const final = { provisional: false };
  expect(told({}, {}, { state: "fired" }, { state: "fired" }, { state: "runs", ...final })).toEqual([
    ...[null, null, "fired", null, null],
  ]);
  expect(
    told({}, { state: "released" }, { state: "no-fire", ...final }, { state: "no-fire", ...final }),
  ).toEqual([...[null, null, "in-vain", null]]);
  expect(told({ state: "no-speed" }, { state: "no-speed", ...final })).toEqual([null, "in-vain"]);
  expect(told({}, { state: "stopped" }, {}, { state: "lost" })).toEqual([null, "stopped", null, "stopped"]);
  expect(told({ state: "fired" }, { state: "died", ...final })).toEqual(["fired", "died"]);
  expect(told({ state: "runs", ...final })).toEqual(["fired"]);
  expect(told({ state: "no-fire", ...final }, { state: "no-fire", ...final, number: 2 })).toEqual([
    ...["in-vain", "in-vain"],
  ]);
});
