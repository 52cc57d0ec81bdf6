import fc from "fast-check";
import { expect, test } from "vitest";
import { ChannelStore, Series } from "../../shared/channels.ts";

const readings = fc
  .array(fc.tuple(fc.nat(50), fc.oneof(fc.double({ noNaN: true }), fc.constant(Number.NaN))), {
    maxLength: 300,
  })
  .map((steps) => {
    let t = 0;
    return steps.map(([step, value]): [number, number] => [(t += step), value]);
  });

test("whatever is appended in order is there, through every growth", () => {
  fc.assert(
    fc.property(readings, fc.constantFrom(0, 0.01, 0.1, 0.4, 1), (list, part) => {
      const series = new Series("c", "m", { part });
      for (const [t, v] of list) expect(series.append(t, v)).toBe(true);
      expectAll(series, list);
    }),
  );
});

test("what comes in parts, and what is appended between them, is there in its order", () => {
  fc.assert(
    fc.property(readings, fc.array(fc.nat(120), { maxLength: 6 }), (list, sizes) => {
      const series = new Series("c", "m");
      const part = (rows: typeof list): void =>
        series.extend(
          Float64Array.from(rows, ([t]) => t),
          Float64Array.from(rows, ([, v]) => v),
          series.answered + rows.filter(([, v]) => !Number.isNaN(v)).length,
        );
      let at = 0;
      for (const size of sizes) {
        part(list.slice(at, at + size));
        at = Math.min(list.length, at + size);
        const one = list[at];
        if (one === undefined) continue;
        expect(series.append(...one)).toBe(true);
        at += 1;
      }
      part(list.slice(at));
      expectAll(series, list);
    }),
  );
});

function expectAll(series: Series, list: readonly [number, number][]): void {
  expect(Array.from(series.times)).toEqual(list.map(([t]) => t));
  expect(Array.from(series.values)).toEqual(list.map(([, v]) => v));
  expect(series.length).toBe(list.length);
  expect(series.answered).toBe(list.filter(([, v]) => !Number.isNaN(v)).length);
}

test("the reading at a time is the last one at or before it", () => {
  fc.assert(
    fc.property(readings, fc.integer({ min: -10, max: 4000 }), (list, at) => {
      const series = new Series("c", "m");
      for (const [t, v] of list) series.append(t, v);
      const expected = list.filter(([t]) => t <= at).at(-1);
      expect(series.at(at)).toEqual(expected === undefined ? null : { t: expected[0], value: expected[1] });
      expect(series.indexAt(at)).toBe(list.filter(([t]) => t <= at).length - 1);
    }),
  );
});

test("the rate counts answered readings of the window, its beginning left out", () => {
  fc.assert(
    fc.property(readings, fc.nat(2000), fc.integer({ min: 1, max: 2000 }), (list, from, width) => {
      const series = new Series("c", "m");
      for (const [t, v] of list) series.append(t, v);
      const inside = list.filter(([t, v]) => t > from && t <= from + width && !Number.isNaN(v)).length;
      expect(series.rate(from, from + width)).toBeCloseTo((inside * 1000) / width, 9);
    }),
  );
  const series = new Series("c", "m");
  series.append(1, 1);
  expect(series.rate(5, 5)).toBe(0);
  expect(series.rate(5, 1)).toBe(0);
});

test("a time before the last one is refused and changes nothing", () => {
  const series = new Series("c", "m");
  series.append(10, 1);
  expect(series.append(10, 2)).toBe(true);
  expect(series.append(9.999, 3)).toBe(false);
  expect(Array.from(series.values)).toEqual([1, 2]);
  expect(series.lastTime).toBe(10);
  expect(new Series("c", "m").lastTime).toBe(Number.NEGATIVE_INFINITY);
});

test("hours of readings take a time and a value each, and at most a quarter more", () => {
  const series = new Series("engine-speed", "7E8");
  const count = 400_000;
  for (let i = 0; i < count; i++) series.append(i * 50, i % 7000);
  for (const column of [series.times, series.values]) {
    expect(column.buffer.byteLength).toBeGreaterThanOrEqual(count * 8);
    expect(column.buffer.byteLength).toBeLessThanOrEqual(count * 8 * 1.25 + 8);
  }
  const right = series.times.every((t, i) => t === i * 50 && series.values[i] === i % 7000);
  expect(right).toBe(true);
});

test("a store keeps modules apart and finds the one that answers most", () => {
  const store = new ChannelStore();
  store.append("coolant", "7E9", 0, Number.NaN);
  store.append("coolant", "7E9", 1, Number.NaN);
  store.append("coolant", "7E8", 0, 80);
  store.append("engine-speed", "7E8", 0, 700);
  expect(store.find("coolant")?.module).toBe("7E8");
  expect(store.find("coolant", "7E9")?.length).toBe(2);
  expect(store.find("coolant", "7EA")).toBeUndefined();
  expect(store.find("load")).toBeUndefined();
  expect(store.channels).toEqual(["coolant", "engine-speed"]);
  expect(store.all().map((s) => `${s.channel} ${s.module}`)).toEqual([
    "coolant 7E9",
    "coolant 7E8",
    "engine-speed 7E8",
  ]);
  expect(store.series("coolant", "7E8")).toBe(store.find("coolant", "7E8"));
});
