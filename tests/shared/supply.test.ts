import fc from "fast-check";
import { expect, test } from "vitest";
import { firstBattery, foldBattery } from "../../adapters/polling/battery.ts";
import { firstFocus, foldFocus } from "../../adapters/polling/focus.ts";
import { ChannelStore } from "../../shared/channels.ts";
import { socketVoltage } from "../../shared/decode.ts";
import { firstSupply, foldSupply, nominalOf, supplyLimits } from "../../shared/supply.ts";
import { regimeSpans } from "../../src/interpret/folds/regimeSpans.ts";
import { foldCue, noCue, type Cue } from "../../src/page/lib/app/cues.ts";

/** Ten readings a second: seconds and volts at their beginning and end. */
type Piece = readonly [seconds: number, from: number, to: number];

function readings(pieces: readonly Piece[]): { t: number; volts: number }[] {
  const list: { t: number; volts: number }[] = [];
  for (const [seconds, from, to] of pieces)
    for (let i = 0; i < seconds * 10; i++)
      list.push({ t: list.length * 100, volts: from + ((to - from) * i) / (seconds * 10) });
  return list;
}

const truckCranks: readonly Piece[] = [
  [3, 24.6, 24.6],
  [4, 19, 19.4],
  [3, 24.3, 24.4],
];

test("the nominal voltage is told by the level at rest", () => {
  expect([10.5, 12.6, 15].map(nominalOf)).toEqual([12, 12, 12]);
  expect([22, 24.6, 28.4].map(nominalOf)).toEqual([24, 24, 24]);
});

test("24.6 to 19 V is a starter: the live fold, the focus, the sound and the regimes say so", () => {
  let supply = firstSupply;
  let focus = firstFocus;
  let cue = noCue;
  const foci: string[] = [];
  const cues: Cue[] = [];
  const sagging: number[] = [];
  const store = new ChannelStore();
  for (const { t, volts } of readings(truckCranks)) {
    supply = foldSupply(supply, t, volts);
    if (supply.sagSinceMs !== null) sagging.push(t);
    focus = foldFocus(foldFocus(focus, { kind: "volts", now: t, volts }), { kind: "speed", now: t, rpm: 0 });
    if (foci.at(-1) !== focus.focus) foci.push(focus.focus);
    const step = foldCue(cue, { t, volts, rpm: 0 });
    cue = step.state;
    if (step.cue !== null) cues.push(step.cue);
    store.append(socketVoltage, "", t, volts);
    store.append("engine-speed", "7E8", t, 0);
  }
  expect(supply.nominal).toBe(24);
  expect([sagging[0], sagging.at(-1)]).toEqual([3000, 6900]);
  expect(foci).toEqual(["survey", "cranking", "survey"]);
  expect(cues).toEqual(["no-speed"]);
  expect(regimeSpans(store, 10_000).map((s) => s.regime)).toContain("no-speed");
});

test("what a pump draws from 24 V is no starter, and an alternator's end is no sag", () => {
  for (const pieces of [
    [
      [3, 25, 25],
      [5, 24, 24],
    ],
    [
      [3, 28.4, 28.4],
      [5, 25.2, 25],
    ],
  ] as const) {
    let supply = firstSupply;
    for (const { t, volts } of readings(pieces)) {
      supply = foldSupply(supply, t, volts);
      expect(supply.sagSinceMs).toBeNull();
    }
  }
});

test("22.0 V at rest is a low battery of a 24 V vehicle; 24.2 V is none", () => {
  const low = (volts: number): boolean => {
    let state = firstBattery;
    for (let now = 0; now <= 45_000; now += 250) state = foldBattery(state, { kind: "volts", now, volts });
    return state.low;
  };
  expect([22, 24.2].map(low)).toEqual([true, false]);
});

test("one misread voltage makes no 24 V vehicle", () => {
  let supply = firstSupply;
  for (const { t, volts } of readings([
    [2, 12.5, 12.5],
    [0.1, 64, 64],
    [2, 12.5, 12.5],
  ]))
    supply = foldSupply(supply, t, volts);
  expect(supply).toMatchObject({ nominal: 12, sagSinceMs: null });
});

test("the fold of 24 V is the fold of 12 V, doubled", () => {
  const volts = fc.array(fc.double({ min: 9.3, max: 14.8, noNaN: true }), { minLength: 2, maxLength: 60 });
  fc.assert(
    fc.property(volts, (list) => {
      // Both begin charged, as the nominal voltage is told by the level at rest.
      let single = firstSupply;
      let double = firstSupply;
      [12.6, 12.6, ...list].forEach((v, i) => {
        single = foldSupply(single, i * 700, v);
        double = foldSupply(double, i * 700, 2 * v);
        if (i < 2) return;
        expect(double.sagSinceMs).toBe(single.sagSinceMs);
        expect(double.restVolts).toBeCloseTo(2 * (single.restVolts ?? 0), 9);
      });
    }),
  );
  expect(supplyLimits.twentyFourAbove).toBeGreaterThan(15);
});
