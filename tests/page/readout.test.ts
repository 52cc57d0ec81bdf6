import { expect, test } from "vitest";
import { Series } from "../../shared/channels.ts";
import { readoutAt } from "../../src/page/lib/chart/readout.ts";

function every(ms: number, count: number): Series {
  const series = new Series("engine-speed", "7E8");
  for (let i = 0; i < count; i++) series.append(1000 + i * ms, 100 + i);
  return series;
}

test("the readout is the last real reading with its age, never a value in between", () => {
  const series = every(100, 5);
  expect(readoutAt(series, 1160)).toMatchObject({ value: 101, t: 1100, ageMs: 60 });
  expect(readoutAt(series, 1100)).toMatchObject({ value: 101, ageMs: 0 });
  expect(readoutAt(series, 999)).toBeNull();
});

test("the rate is that of the readings just before", () => {
  expect(readoutAt(every(100, 50), 6000)?.rate).toBeCloseTo(10, 6);
  expect(readoutAt(every(12_000, 4), 40_000)?.rate).toBeCloseTo(1 / 12, 6);
  expect(readoutAt(every(100, 1), 2000)?.rate).toBe(0);
});

test("a reading that did not come is said to be missing, and does not count in the rate", () => {
  const series = every(100, 10);
  series.append(2000, Number.NaN);
  const readout = readoutAt(series, 2050);
  expect(readout?.value).toBeNaN();
  expect(readout?.ageMs).toBe(50);
  expect(readout?.rate).toBeCloseTo(10, 6);
});

test("what is not asked any more is stale after several of its own intervals, a slow channel later", () => {
  const quick = every(100, 50);
  expect(readoutAt(quick, 8500)?.stale).toBe(false);
  expect(readoutAt(quick, 13 * 60_000)?.stale).toBe(true);
  const slow = every(4000, 10);
  expect(readoutAt(slow, 50_000)?.stale).toBe(false);
  expect(readoutAt(slow, 58_000)?.stale).toBe(true);
  expect(readoutAt(every(100, 1), 5 * 60_000)?.stale).toBe(true);
});
