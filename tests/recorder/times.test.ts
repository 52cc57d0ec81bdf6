import fc from "fast-check";
import { expect, test } from "vitest";
import { asTimed, spread, steady } from "../../src/recorder/import/times.ts";

test("as timed: each row at its time, rows that go back are dropped", () => {
  expect(asTimed([5, 5.5, 5.2, 6])).toMatchObject({ ms: [0, 500, 1000], rows: [0, 1, 3] });
  expect(asTimed([5, 5.5, 5.2, 6]).notices).toHaveLength(1);
  expect(asTimed([1, 1, 2]).notices).toHaveLength(0);
});

test("spread: rows of one second lie evenly within it", () => {
  expect(spread([10, 10, 11, 11, 11, 11, 12]).ms).toEqual([0, 500, 1000, 1250, 1500, 1750, 2000]);
  expect(spread([10, 10, 12, 12]).ms).toEqual([0, 1000, 2000, 3000]);
  expect(spread([4, 4, 4]).ms).toEqual([0, 0, 0]);
});

/** Rows every `pace` seconds of a clock that shows whole seconds, re-read every `every` rows. */
function wholeSeconds(pace: number, rows: number, every: number, start = 0): number[] {
  return Array.from({ length: rows }, (_, row) => Math.floor(start + Math.floor(row / every) * every * pace));
}

test("steady: rows of a whole-second clock come out at the pace they were written at", () => {
  const times = steady(wholeSeconds(0.4923, 2000, 1), 1);
  const gaps = times.ms.slice(1).map((t, i) => t - (times.ms[i] ?? 0));
  for (const gap of gaps) expect(Math.abs(gap - 492.3)).toBeLessThan(160);
  expect(Math.abs((times.ms.at(-1) ?? 0) - 1999 * 492.3)).toBeLessThan(1000);
});

test("steady: a clock that stands still before the start lets the rows go on", () => {
  const times = steady([...new Array<number>(20).fill(0), ...wholeSeconds(0.5, 200, 4, 2)], 1);
  expect(times.ms[0]).toBe(0);
  for (let row = 1; row < 220; row++) {
    expect((times.ms[row] ?? 0) - (times.ms[row - 1] ?? 0)).toBeCloseTo(500, -2);
  }
});

test("steady: standing still in the middle, and starting again at nought, cost no time", () => {
  const drive = wholeSeconds(0.5, 200, 1);
  const stood = [...drive, ...new Array<number>(40).fill(99), ...drive.map((t) => t + 100)];
  const again = [...drive, ...drive];
  for (const [clock, rows] of [
    [stood, 440],
    [again, 400],
  ] as const) {
    const times = steady(clock, 1);
    expect(Math.abs((times.ms[rows - 1] ?? 0) - (rows - 1) * 500)).toBeLessThan(3000);
    expect(times.notices.some((n) => n.includes("stood still or started again"))).toBe(true);
  }
});

test("steady: a pause of the logger is kept", () => {
  const drive = wholeSeconds(0.5, 200, 1);
  const times = steady([...drive, ...drive.map((t) => t + 160)], 1);
  expect((times.ms[200] ?? 0) - (times.ms[199] ?? 0)).toBeGreaterThan(58_000);
  expect((times.ms[200] ?? 0) - (times.ms[199] ?? 0)).toBeLessThan(62_000);
});

test("times never fall and are never missing, whatever the column holds", () => {
  const column = fc.array(fc.integer({ min: 0, max: 50 }), { minLength: 1, maxLength: 120 });
  fc.assert(
    fc.property(column, (seconds) => {
      for (const way of [asTimed(seconds), spread(seconds), steady(seconds, 1)]) {
        expect(way.ms).toHaveLength(way.rows.length);
        expect(way.ms[0]).toBe(0);
        way.ms.forEach((t, i) => {
          expect(Number.isFinite(t)).toBe(true);
          if (i > 0) expect(t).toBeGreaterThanOrEqual(way.ms[i - 1] ?? 0);
        });
      }
    }),
  );
});
