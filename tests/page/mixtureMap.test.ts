import { expect, test } from "vitest";
import { ChannelStore } from "../../shared/channels.ts";
import { flowCurve, flowPoints, leastReadings, mixtureMap } from "../../src/page/lib/chart/mixtureMap.ts";

/** Trims at an idle and at a held speed, closed loop, `count` readings each. */
function store(count: number, loop = 2): ChannelStore {
  const channels = new ChannelStore();
  let t = 0;
  for (const [speed, load, flow, short] of [
    [800, 18, 4, 12],
    [2600, 41, 20, 2],
  ] as const)
    for (let i = 0; i < count; i++) {
      const say = (channel: string, value: number): void => {
        t += 20;
        channels.append(channel, "7E8", t, value);
      };
      say("engine-speed", speed);
      say("load", load);
      say("air-flow", flow);
      say("fuel-system-1", loop);
      say("trim-long-b1", 3);
      say("trim-short-b1", short);
    }
  return channels;
}

test("each cell holds the mean of short and long trim together, with its count", () => {
  const map = mixtureMap(store(20), 1);
  const cells = map?.cells.flat().filter((cell) => cell.count > 0) ?? [];
  expect(cells.map(({ count, mean }) => [count, mean])).toEqual([
    [20, 15],
    [20, 5],
  ]);
  expect(map?.loadChannel).toBe("load");
});

test("a cell with too few readings stays empty, and open loop is no reading", () => {
  const few = mixtureMap(store(leastReadings - 1), 1);
  expect(few?.cells.flat().every((cell) => Number.isNaN(cell.mean))).toBe(true);
  expect(mixtureMap(store(20, 1), 1)).toBeNull();
  expect(mixtureMap(store(20), 2)).toBeNull();
});

test("a bank whose loop is open has no map; the other bank has its own", () => {
  const channels = store(20);
  const extended = new ChannelStore();
  for (const series of channels.all())
    series.times.forEach((t, i) => {
      const value = series.values[i] ?? 0;
      extended.append(series.channel, "7E8", t, value);
      if (series.channel === "fuel-system-1") extended.append("fuel-system-2", "7E8", t, 1);
      if (series.channel.endsWith("-b1"))
        extended.append(series.channel.replace("b1", "b2"), "7E8", t, value);
    });
  expect(mixtureMap(extended, 1)).not.toBeNull();
  expect(mixtureMap(extended, 2)).toBeNull();
});

test("zones of air flow hold means of their readings", () => {
  const points = flowPoints(store(20), 1);
  expect(points.map(({ flow, correction, count }) => [flow, correction, count])).toEqual([
    [4, 15, 20],
    [20, 5, 20],
  ]);
});

test("the curve of a leak falls with one over the flow", () => {
  const fit = {
    a: { value: 0.8, error: 0 },
    b: { value: 0.01, error: 0 },
    d: { value: 0.1, error: 0.2, from: 0, sure: false },
    flowFrom: 4,
    flowTo: 16,
  };
  const curve = flowCurve(fit, 2);
  expect(curve.map((p) => p.flow)).toEqual([4, 8, 16]);
  // 0.8 g/s over 4, 8, 16 g/s and 1 %; the growing part is not sure and left out.
  expect(curve.map((p) => p.mean)).toHaveLength(3);
  for (const [i, mean] of [21, 11, 6].entries()) expect(curve[i]?.mean).toBeCloseTo(mean, 9);
  // Sure, it begins at half of the greatest flow and is a tenth there: 16/16.
  const grown = flowCurve({ ...fit, d: { value: 0.1, error: 0, from: 0.5, sure: true } }, 2);
  for (const [i, mean] of [21, 11, 16].entries()) expect(grown[i]?.mean).toBeCloseTo(mean, 9);
});
