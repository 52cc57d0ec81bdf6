import { expect, test } from "vitest";
import { crankScale, crankStretch, givesWay, isRamp } from "../../src/page/lib/chart/crankScale.ts";
import type { LiveCrank } from "../../src/interpret/crank/live.ts";

const crank: LiveCrank = {
  ...{ number: 1, from: 60_000, to: null, state: "turning", provisional: true, unheardS: null },
  ...{ rpm: 187, speed: null, restVolts: 12.5, volts: 11.2, lowestVolts: 10.1, meanVolts: null, deep: false },
  ...{ slow: null, firedS: null, ranS: null, pullDown: null, crankedS: 1 },
};

test("a crank fills the width, and its paper grows in steps and not with each reading", () => {
  const at = (ms: number): ReturnType<typeof crankStretch> => crankStretch(crank, crank.from + ms);
  expect(at(0)).toEqual({ from: 59_000, to: 66_000 });
  expect(at(5000)).toEqual(at(0));
  expect(at(6000)).toEqual({ from: 59_000, to: 70_000 });
  for (let ms = 0; ms < 20_000; ms += 100) {
    const stretch = at(ms);
    expect(stretch?.to).toBeGreaterThanOrEqual(crank.from + ms);
    // What has happened so far takes a good part of the width.
    if (ms > 1000) expect((ms + 1000) / ((stretch?.to ?? 0) - 59_000)).toBeGreaterThan(0.25);
  }
});

test("it stays for a while after the release or the first fire, and then gives the paper back", () => {
  const over: LiveCrank = { ...crank, to: 65_000, state: "no-fire", provisional: false };
  expect(crankStretch(over, 65_000 + crankScale.afterMs)).not.toBeNull();
  expect(crankStretch(over, 65_001 + crankScale.afterMs)).toBeNull();
  const fired: LiveCrank = { ...crank, state: "fired", firedS: 1 };
  expect(crankStretch(fired, 61_001 + crankScale.afterMs)).toBeNull();
});

test("lanes that cannot say anything yet give way; one that shares a lane with speed does not", () => {
  for (const lane of [["trim-short-b1", "trim-long-b1"], ["oxygen-b1s1"], ["coolant"], ["trim-short-b1@7E8"]])
    expect(givesWay(lane)).toBe(true);
  for (const lane of [["engine-speed"], ["socket-voltage"], ["manifold"], ["coolant", "engine-speed"], []])
    expect(givesWay(lane)).toBe(false);
});

test("spinning up and running down are ramps, turning is not", () => {
  const over: LiveCrank = { ...crank, to: 65_000, state: "no-fire", provisional: false };
  expect([60_100, 62_000, 65_100, 66_000, 80_000].map((t) => isRamp(over, t))).toEqual([
    ...[true, false, true, true, false],
  ]);
  expect(isRamp(null, 0)).toBe(false);
  expect(isRamp({ ...crank, state: "released", crankedS: 4 }, 64_200)).toBe(true);
});
