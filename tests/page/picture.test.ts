import { expect, test } from "vitest";
import { Series } from "../../shared/channels.ts";
import { rangeFor } from "../../shared/ranges.ts";
import { lanePicture, type PictureInput } from "../../src/sheet/chart/picture.ts";

function input(series: Series, part: Partial<PictureInput> = {}): PictureInput {
  return {
    sources: [{ channel: series.channel, series, unit: "V", colour: 1, stepped: false }],
    spans: [
      { from: 0, to: 4000, regime: "key-on" },
      { from: 4000, to: 9000, regime: "cranking" },
    ],
    ranges: { channel: (channel, regime) => rangeFor(channel, regime) ?? null },
    system: "metric",
    stretch: { from: 0, to: 10_000 },
    width: 800,
    height: 120,
    axisWidth: 46,
    timeTicks: [],
    ...part,
  };
}

function volts(): Series {
  const series = new Series("socket-voltage", "adapter");
  for (let t = 0; t < 10_000; t += 250) series.append(t, t < 4000 ? 12.4 : 9.8);
  return series;
}

test("the band follows the regimes with the table's range of each", () => {
  const keyOn = rangeFor("socket-voltage", "key-on");
  const cranking = rangeFor("socket-voltage", "cranking");
  expect(lanePicture(input(volts())).bands).toEqual([
    { from: 0, to: 4000, low: keyOn?.low, high: keyOn?.high },
    { from: 4000, to: 9000, low: cranking?.low, high: cranking?.high },
  ]);
});

test("spinning up and running down have no range: a ramp is not marked as out of it", () => {
  const speed = new Series("engine-speed", "7E8");
  for (let t = 0; t < 10_000; t += 50) speed.append(t, t < 4300 ? 0 : t < 4500 ? 90 : t < 8700 ? 187 : 60);
  const sources = [
    { channel: "engine-speed", series: speed, unit: "rpm", colour: 0, stepped: false },
  ] as const;
  const picture = lanePicture(input(speed, { sources }));
  expect(picture.bands).toEqual([{ from: 4600, to: 8500, low: 150, high: 300 }]);
  expect(picture.traces[0]?.outside).toEqual([]);
  const slow = new Series("engine-speed", "7E8");
  for (let t = 0; t < 10_000; t += 50) slow.append(t, t < 4300 ? 0 : 92);
  const slowly = lanePicture(input(slow, { sources: [{ ...sources[0], series: slow }] }));
  expect(slowly.traces[0]?.outside.length).toBeGreaterThan(0);
});

test("neighbouring regimes with the same range make one band; unseen ones make none", () => {
  const spans = [
    { from: 0, to: 1000, regime: "idle-warm" },
    { from: 1000, to: 2000, regime: "idle-warm" },
    { from: 20_000, to: 30_000, regime: "cranking" },
  ] as const;
  const { bands } = lanePicture(input(volts(), { spans }));
  expect(bands).toHaveLength(1);
  expect(bands[0]).toMatchObject({ from: 0, to: 2000 });
});

test("trace and band both lie within the axis", () => {
  const { axis, bands, traces } = lanePicture(input(volts()));
  expect(axis.min).toBeLessThan(Math.min(traces[0]?.points.low ?? 0, ...bands.map((b) => b.low)));
  expect(axis.max).toBeGreaterThan(Math.max(traces[0]?.points.high ?? 0, ...bands.map((b) => b.high)));
});

test("a band far wider than the trace does not press it flat, nor does an open one", () => {
  const wide = lanePicture(input(volts(), { ranges: { channel: () => ({ low: -400, high: 400 }) } }));
  expect(wide.axis.max - wide.axis.min).toBeLessThan(10);
  const open = lanePicture(input(volts(), { ranges: { channel: () => ({ low: 9.6, high: null }) } }));
  expect(open.bands[0]?.high).toBe(Number.POSITIVE_INFINITY);
  expect(Number.isFinite(open.axis.max)).toBe(true);
});

test("US units move trace, band and axis together", () => {
  const series = new Series("coolant", "7E8");
  for (let t = 0; t < 10_000; t += 500) series.append(t, 20);
  const sources = [{ channel: "coolant", series, unit: "°C", colour: 4, stepped: false }] as const;
  const ranges = { channel: () => ({ low: 15, high: 25 }) };
  const picture = lanePicture(input(series, { sources, system: "us", ranges }));
  expect(picture.traces[0]?.points.v[0]).toBeCloseTo(68, 9);
  expect(picture.bands[0]).toMatchObject({ low: 59, high: 77 });
  expect(picture.axis.min).toBeLessThan(59);
});

test("readings far apart get a dot each, dense ones none, a lone one always", () => {
  const sparse = lanePicture(input(volts()));
  expect(sparse.traces[0]?.dots).toHaveLength(40);
  const dense = new Series("socket-voltage", "adapter");
  for (let t = 0; t < 10_000; t += 20)
    dense.append(t, t === 5000 ? 11 : t === 4980 || t === 5020 ? Number.NaN : 12);
  const { dots, points } = lanePicture(input(dense)).traces[0] ?? {};
  expect(dots?.map((i) => points?.v[i])).toEqual([11]);
});

test("words have no numbers on their axis", () => {
  const series = new Series("fuel-system-1", "7E8");
  series.append(0, 1);
  series.append(5000, 2);
  const sources = [{ channel: "fuel-system-1", series, unit: "state", colour: 0, stepped: true }] as const;
  expect(lanePicture(input(series, { sources })).tickTexts).toEqual([]);
});

test("a lane without readings has an axis all the same", () => {
  const { axis, traces } = lanePicture(input(new Series("load", "")));
  expect(axis.max).toBeGreaterThan(axis.min);
  expect(traces[0]?.points.t).toEqual([]);
});

test("a trim that stands at zero has paper on both sides of its zero line", () => {
  const series = new Series("trim-short-b1", "7E8");
  for (let t = 0; t < 10_000; t += 500) series.append(t, 0);
  const sources = [{ channel: "trim-short-b1", series, unit: "%", colour: 0, stepped: false }] as const;
  const { axis } = lanePicture(input(series, { sources, spans: [] }));
  expect(axis.min).toBeLessThanOrEqual(-5);
  expect(axis.max).toBeGreaterThanOrEqual(5);
});

test("readings beyond the range carry marks that point away from it, the farthest of each few pixels", () => {
  const series = volts();
  series.append(10_000, 12.4);
  const range = { low: 9.6, high: 12.6 };
  const within = lanePicture(input(series, { ranges: { channel: () => range } }));
  expect(within.traces[0]?.outside).toEqual([]);

  const odd = new Series("socket-voltage", "adapter");
  for (let t = 0; t < 10_000; t += 25) odd.append(t, t === 2000 ? 16 : t === 2025 ? 15 : t >= 5000 ? 9 : 12);
  const { traces } = lanePicture(input(odd, { ranges: { channel: () => range } }));
  const outside = traces[0]?.outside ?? [];
  expect(outside.filter((o) => o.above)).toEqual([{ t: 2000, v: 16, above: true }]);
  const below = outside.filter((o) => !o.above);
  // Ranges are known up to 9 s: from 5 s on, at most one mark each 13 of 800 pixels.
  expect(below.every(({ t, v }) => v === 9 && t >= 5000 && t < 9000)).toBe(true);
  expect(below.length).toBeGreaterThan(15);
  expect(below.length).toBeLessThanOrEqual(Math.ceil((4000 / 10_000) * (800 / 13)) + 1);
});

test("readings alone: every one has its dot, and no line is drawn", () => {
  const series = volts();
  const bare = { channel: series.channel, series, unit: "V", colour: 1, stepped: false, bare: true } as const;
  const trace = lanePicture(input(series, { sources: [bare] })).traces[0];
  expect(trace?.bare).toBe(true);
  expect(trace?.dots).toHaveLength(series.length);
});
