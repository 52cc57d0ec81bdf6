import fc from "fast-check";
import { expect, test } from "vitest";
import { Series } from "../../shared/channels.ts";
import { Extremes } from "../../src/sheet/chart/extremes.ts";
import { reduce } from "../../src/sheet/chart/reduce.ts";

function seriesOf(values: readonly number[], gaps: readonly number[] = []): Series {
  const series = new Series("engine-speed", "7E8");
  let t = 0;
  values.forEach((value, i) => {
    t += gaps[i % Math.max(1, gaps.length)] ?? 20;
    series.append(t, value);
  });
  return series;
}

const reading = fc.oneof(
  { weight: 8, arbitrary: fc.double({ min: -1000, max: 9000, noNaN: true }) },
  { weight: 1, arbitrary: fc.constant(Number.NaN) },
);
const readings = fc.array(reading, { minLength: 1, maxLength: 3000 });
const spacings = fc.array(fc.oneof(fc.constant(0), fc.double({ min: 0, max: 400, noNaN: true })), {
  minLength: 1,
  maxLength: 40,
});

test("block extremes are those of reading every value, however the series grew", () => {
  fc.assert(
    fc.property(readings, fc.nat(), fc.nat(), fc.nat(), (values, a, b, grownAt) => {
      const array = Float64Array.from(values);
      const extremes = new Extremes();
      extremes.extend(array.subarray(0, grownAt % (array.length + 1)));
      extremes.extend(array);
      const from = a % array.length;
      const to = from + (b % (array.length - from + 1));
      const numbers = values.slice(from, to).filter((v) => !Number.isNaN(v));
      const found = extremes.of(array, from, to);
      expect(found.missed).toBe(numbers.length < to - from);
      expect(found.min < 0 ? undefined : array[found.min]).toBe(
        numbers.length === 0 ? undefined : Math.min(...numbers),
      );
      expect(found.max < 0 ? undefined : array[found.max]).toBe(
        numbers.length === 0 ? undefined : Math.max(...numbers),
      );
    }),
  );
});

test("every column keeps its lowest and highest reading, at its own time", () => {
  fc.assert(
    fc.property(readings, spacings, fc.integer({ min: 1, max: 60 }), (values, gaps, columns) => {
      const series = seriesOf(values, gaps);
      const stretch = { from: 0, to: Math.max(1, series.lastTime) };
      const points = reduce(series, stretch, columns);
      const width = (stretch.to - stretch.from) / columns;
      const drawn = new Map<number, number[]>();
      points.t.forEach((t, i) => {
        const v = points.v[i];
        // A time that comes twice was moved by far less than this.
        const column = Math.floor((t - 1e-4) / width);
        if (v !== null && v !== undefined) drawn.set(column, [...(drawn.get(column) ?? []), v]);
      });
      const all = [...drawn.values()].flat();
      const numbers = values.filter((v) => !Number.isNaN(v));
      for (const v of all) expect(numbers).toContain(v);
      if (numbers.length > 0) {
        expect(Math.max(...all)).toBe(Math.max(...numbers));
        expect(Math.min(...all)).toBe(Math.min(...numbers));
        expect(points.high).toBe(Math.max(...numbers));
        expect(points.low).toBe(Math.min(...numbers));
      }
    }),
  );
});

test("a series that grew while it was looked at gives the same points as one that came at once", () => {
  fc.assert(
    fc.property(
      readings,
      spacings,
      fc.integer({ min: 1, max: 60 }),
      fc.array(fc.integer({ min: 1, max: 700 }), { minLength: 1, maxLength: 12 }),
      (values, gaps, columns, steps) => {
        const whole = seriesOf(values, gaps);
        const end = whole.lastTime;
        const stretches = [
          { from: 0, to: end + 1 },
          { from: end * 0.3, to: end * 0.8 + 1 },
        ];
        const growing = new Series("engine-speed", "7E8");
        for (let i = 0, step = 0; i < values.length; step++) {
          const until = Math.min(values.length, i + (steps[step % steps.length] ?? 1));
          for (; i < until; i++) growing.append(whole.times[i] ?? 0, whole.values[i] ?? Number.NaN);
          for (const stretch of stretches) reduce(growing, stretch, columns);
        }
        for (const stretch of stretches)
          expect(reduce(growing, stretch, columns)).toEqual(reduce(whole, stretch, columns));
      },
    ),
  );
});

test("a dense series in a stretch that stands still gives the same points, looked at again and again", () => {
  const whole = new Series("engine-speed", "7E8");
  const growing = new Series("engine-speed", "7E8");
  const stretch = { from: 0, to: 40_000 };
  for (let i = 0; i < 2_000; i++) {
    const [t, v] = [i * 20, 800 + ((i * 7919) % 101)];
    whole.append(t, v);
    growing.append(t, v);
    if (i % 3 === 0) reduce(growing, stretch, 100);
  }
  expect(reduce(growing, stretch, 100)).toEqual(reduce(whole, stretch, 100));
});

test("a single reading that stands out of a hundred thousand is drawn at every zoom that shows it", () => {
  const series = new Series("engine-speed", "7E8");
  const spikeAt = 61_234;
  for (let i = 0; i < 100_000; i++) series.append(i * 20, i === spikeAt ? 9000 : 800 + (i % 7));
  for (const half of [1e6, 2e5, 3e4, 1e3, 100]) {
    for (const columns of [300, 1000, 1900]) {
      const middle = spikeAt * 20;
      const points = reduce(series, { from: middle - half, to: middle + half * 0.7 }, columns);
      const at = points.v.indexOf(9000);
      expect(at).toBeGreaterThanOrEqual(0);
      expect(points.t[at]).toBeCloseTo(middle, 3);
      expect(points.t.length).toBeLessThanOrEqual(columns * 4 + 8);
    }
  }
});

test("times rise strictly and stay within a hair of the readings' own", () => {
  fc.assert(
    fc.property(readings, spacings, fc.integer({ min: 1, max: 400 }), (values, gaps, columns) => {
      const series = seriesOf(values, gaps);
      const points = reduce(series, { from: 0, to: Math.max(1, series.lastTime) }, columns);
      expect(points.t.length).toBe(points.v.length);
      for (let i = 1; i < points.t.length; i++) {
        expect(points.t[i] ?? 0).toBeGreaterThan(points.t[i - 1] ?? 0);
      }
      const last = points.t.at(-1) ?? 0;
      expect(last - series.lastTime).toBeLessThan(0.1);
    }),
  );
});

test("what was asked and not answered breaks the line and is told of, at any zoom", () => {
  const values = Array.from({ length: 20_000 }, (_, i) => (i >= 9_000 && i < 12_000 ? Number.NaN : i % 50));
  const series = seriesOf(values);
  const wide = reduce(series, { from: 0, to: series.lastTime }, 500);
  expect(wide.every).toBe(false);
  expect(wide.v).toContain(null);
  expect(wide.missed.length).toBeGreaterThan(50);
  const lone = seriesOf([1, 2, Number.NaN, 4, 5]);
  expect(reduce(lone, { from: 0, to: 200 }, 500)).toMatchObject({
    v: [1, 2, null, 4, 5],
    missed: [60],
    every: true,
  });
});

test("one missing answer among thousands in a column is still told of", () => {
  const values = Array.from({ length: 50_000 }, (_, i) => (i === 31_007 ? Number.NaN : i % 3));
  const series = seriesOf(values);
  expect(reduce(series, { from: 0, to: series.lastTime }, 200).missed).toHaveLength(1);
});

test("the readings just outside the stretch are taken along, so that lines reach its edges", () => {
  const series = seriesOf([1, 2, 3, 4, 5, 6]);
  expect(reduce(series, { from: 50, to: 90 }, 500).t).toEqual([40, 60, 80, 100]);
});

test("a stretch before and one after all readings hold at most their neighbour", () => {
  const series = seriesOf([1, 2, 3]);
  expect(reduce(series, { from: 500, to: 900 }, 100).t).toEqual([60]);
  expect(reduce(new Series("load", ""), { from: 0, to: 10 }, 100)).toMatchObject({
    t: [],
    v: [],
    low: Number.NaN,
  });
});

test("no line joins readings between which the channel was not asked for minutes; its own slow pace does", () => {
  const asked = seriesOf(
    Array.from({ length: 60 }, (_, i) => i),
    [...Array.from({ length: 29 }, () => 500), 13 * 60_000, ...Array.from({ length: 30 }, () => 500)],
  );
  const { t, v } = reduce(asked, { from: 0, to: 20 * 60_000 }, 1000);
  expect(v.filter((value) => value === null)).toHaveLength(1);
  const hole = v.indexOf(null);
  expect([v[hole - 1], v[hole + 1]]).toEqual([28, 29]);
  expect(t[hole]).toBeGreaterThan(t[hole - 1] ?? 0);
  const slow = seriesOf(
    Array.from({ length: 20 }, (_, i) => i),
    [25_000],
  );
  expect(reduce(slow, { from: 0, to: 20 * 60_000 }, 1000).v).not.toContain(null);
});
