import { expect, test } from "vitest";
import { ChannelStore, Series } from "../../shared/channels.ts";
import { heardAt, readoutAt } from "../../src/page/lib/chart/readout.ts";

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

test("the question that was in the air when the line was closed is no silence; one that was not answered before is", () => {
  const channels = new ChannelStore();
  for (let t = 1000; t <= 2000; t += 100) channels.append("engine-speed", "7E8", t, 180);
  channels.append("coolant", "7E8", 1900, 20);
  channels.append("coolant", "7E8", 1950, Number.NaN);
  channels.append("engine-speed", "7E8", 2050, Number.NaN);
  const at = (channel: string, links: Parameters<typeof heardAt>[0]["links"]): number | undefined => {
    const series = channels.find(channel);
    return series === undefined ? undefined : heardAt({ channels, links }, series, 2100)?.value;
  };
  const closed = [{ k: "link", t: 2060, state: "closed" }] as const;
  expect(at("engine-speed", closed)).toBe(180);
  expect(at("coolant", closed)).toBeNaN();
  // The line is open, or lost: nothing was broken off by the person.
  expect(at("engine-speed", [])).toBeNaN();
  expect(at("engine-speed", [{ k: "link", t: 2060, state: "lost" }])).toBeNaN();
  const series = channels.find("engine-speed");
  expect(series === undefined ? null : heardAt({ channels, links: closed }, series, 2100)).toMatchObject({
    t: 2000,
    ageMs: 100,
  });
});
