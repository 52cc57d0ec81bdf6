import { expect, test } from "vitest";
import { ChannelStore, Series } from "../../shared/channels.ts";
import { makeSign } from "../../src/interpret/report/sign.ts";
import { lanePicture } from "../../src/sheet/chart/picture.ts";
import { signBandAt, signBands } from "../../src/sheet/chart/signBands.ts";

const windows = [{ from: 2000, to: 6000 }];
const least = (
  low: number,
): { low: number; high: null; unit: string; source: string; replaced: boolean } => ({
  low,
  high: null,
  unit: "V",
  source: "by temperature",
  replaced: false,
});
const coldCrank = makeSign("power.crank-voltage", {
  verdict: "within",
  windows,
  channels: ["socket-voltage", "engine-speed"],
  range: least(8.7),
});

test("the range of a sign lies over its first channel, in the sign's own windows", () => {
  const bands = signBands([coldCrank], new ChannelStore());
  expect(bands).toEqual([
    { channel: "socket-voltage", from: 2000, to: 6000, low: 8.7, high: null, source: "by temperature" },
  ]);
  expect(signBandAt(bands, "socket-voltage", 2000)?.low).toBe(8.7);
  expect(signBandAt(bands, "socket-voltage", 6000)).toBeUndefined();
  expect(signBandAt(bands, "engine-speed", 3000)).toBeUndefined();
});

test("what is counted from the outside air needs a reading of it", () => {
  const pull = makeSign("crank.pull-down", {
    verdict: "outside",
    windows,
    channels: ["manifold"],
    range: { ...least(6.8), unit: "kPa" },
  });
  const still = makeSign("sensor.key-on-manifold", {
    verdict: "within",
    windows: [{ from: 0, to: 1000 }],
    channels: ["manifold", "barometric"],
    range: { ...least(-5), high: 5, unit: "kPa" },
  });
  const store = new ChannelStore();
  expect(signBands([pull, still], store)).toEqual([]);
  store.append("barometric", "7E8", 500, 100);
  expect(signBands([pull, still], store).map(({ from, to, low, high }) => ({ from, to, low, high }))).toEqual(
    [
      { from: 0, to: 1000, low: 95, high: 105 },
      { from: 3500, to: 6000, low: null, high: 93.2 },
    ],
  );
});

test("a figure that is no level of one channel has no band; two that meet do not lie over each other", () => {
  const time = makeSign("crank.time-to-fire", {
    verdict: "outside",
    windows,
    channels: ["engine-speed"],
    range: least(3),
  });
  const later = { ...coldCrank, windows: [{ from: 5000, to: 7000 }], range: least(9.6) };
  const spans = signBands([time, later, coldCrank], new ChannelStore()).map(({ from, to }) => [from, to]);
  expect(spans).toEqual([
    [2000, 6000],
    [6000, 7000],
  ]);
});

test("in a lane it takes the place of the general range, on the side that it tells of", () => {
  const series = new Series("socket-voltage", "adapter");
  for (let t = 0; t <= 10_000; t += 500) series.append(t, 9);
  const input = {
    sources: [{ channel: "socket-voltage", series, unit: "V", colour: 0, stepped: false }],
    spans: [
      { from: 0, to: 1000, regime: "key-on" },
      { from: 1000, to: 4000, regime: "cranking" },
      { from: 5000, to: 9000, regime: "cranking" },
    ],
    ranges: { channel: () => ({ low: 9.6, high: 12.4 }) },
    system: "metric",
    stretch: { from: 0, to: 10_000 },
    width: 400,
    height: 60,
    axisWidth: 40,
    timeTicks: [],
  } as const;
  const general = lanePicture(input);
  const own = lanePicture({ ...input, signs: signBands([coldCrank], new ChannelStore()) });
  expect(general.bands).toEqual([
    { from: 0, to: 4000, low: 9.6, high: 12.4 },
    { from: 5000, to: 9000, low: 9.6, high: 12.4 },
  ]);
  expect(own.bands).toEqual([
    { from: 0, to: 2000, low: 9.6, high: 12.4 },
    { from: 2000, to: 4000, low: 8.7, high: 12.4 },
    { from: 4000, to: 5000, low: 8.7, high: Infinity },
    { from: 5000, to: 6000, low: 8.7, high: 12.4 },
    { from: 6000, to: 9000, low: 9.6, high: 12.4 },
  ]);
  // What the sign does not mind is not marked either: 9 V is enough in the cold.
  const inside = own.traces[0]?.outside.filter(({ t }) => t >= 2000 && t < 6000);
  expect(inside).toEqual([]);
  expect(general.traces[0]?.outside.some(({ t }) => t >= 2000 && t < 4000)).toBe(true);
});
