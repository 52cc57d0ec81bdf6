import { expect, test } from "vitest";
import { Series } from "../../shared/channels.ts";
import { measureSeries } from "../../src/page/lib/chart/measure.ts";

function series(points: readonly (readonly [number, number])[]): Series {
  const made = new Series("engine-speed", "7E8");
  for (const [t, v] of points) made.append(t, v);
  return made;
}

test("figures between two cursors are those of the readings there, edges included", () => {
  const made = series([
    [0, 999],
    [1000, 10],
    [2000, 30],
    [3000, Number.NaN],
    [4000, 20],
    [5000, 40],
    [6000, 999],
  ]);
  const found = measureSeries(made, 1000, 5000);
  expect(found).toMatchObject({ count: 4, unanswered: 1, difference: 30, mean: 25, min: 10, max: 40 });
  // By hand: times 1, 2, 4, 5 s; values 10, 30, 20, 40: slope = 50 / 10.
  expect(found.slope).toBeCloseTo(5, 12);
  expect(found.rate).toBeCloseTo(0.75, 12);
});

test("one reading has a mean and no slope; none has nothing", () => {
  const made = series([[1000, 5]]);
  expect(measureSeries(made, 0, 2000)).toMatchObject({ count: 1, mean: 5, min: 5, max: 5 });
  expect(measureSeries(made, 0, 2000).slope).toBeNaN();
  expect(measureSeries(made, 0, 2000).difference).toBeNaN();
  const none = measureSeries(made, 1500, 2000);
  expect(none.count).toBe(0);
  expect([none.mean, none.min, none.max, none.rate].every(Number.isNaN)).toBe(true);
});

test("a slope in the tenth hour is as exact as in the first minute", () => {
  const late = series(Array.from({ length: 50 }, (_, i) => [36_000_000 + i * 100, 800 + i * 0.5] as const));
  expect(measureSeries(late, 36_000_000, 36_010_000).slope).toBeCloseTo(5, 9);
});
