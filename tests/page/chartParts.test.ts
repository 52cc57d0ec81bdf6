import { expect, test } from "vitest";
import { Series } from "../../shared/channels.ts";
import { canMerge, lanesFor, mergedUp, split } from "../../src/page/lib/chart/lanes.ts";
import { nextPlace } from "../../src/page/lib/chart/goTo.ts";
import { VehicleRanges } from "../../src/interpret/report/ranges.ts";
import { lanePicture } from "../../src/sheet/chart/picture.ts";

const unitOf = (entry: string): string =>
  entry.includes("volt") ? "V" : entry.startsWith("trim") ? "%" : "rpm";

test("lanes of one unit can be joined and parted again; others cannot", () => {
  const lanes = [["engine-speed"], ["socket-voltage"], ["module-voltage"]];
  expect(canMerge(lanes, 1, unitOf)).toBe(false);
  expect(mergedUp(lanes, 1, unitOf)).toBe(lanes);
  const joined = mergedUp(lanes, 2, unitOf);
  expect(joined).toEqual([["engine-speed"], ["socket-voltage", "module-voltage"]]);
  expect(split(joined, 1)).toEqual(lanes);
  expect(canMerge(lanes, 0, unitOf)).toBe(false);
});

test("lanes for a sign: its own first, the rest stays behind", () => {
  const before = [["engine-speed"], ["throttle"], ["trim-short-b1", "trim-long-b1"]];
  expect(lanesFor(["trim-long-b1", "air-flow"], before)).toEqual([
    ["trim-short-b1", "trim-long-b1"],
    ["air-flow"],
    ["engine-speed"],
    ["throttle"],
  ]);
});

test("the next and the previous mark from the cursor, and none beyond the last", () => {
  const marks = [5000, 1000, 9000].map((at) => ({ id: String(at), at, label: "x" }));
  const around = { marks, findings: null };
  expect(nextPlace("mark", 1, { ...around, here: 1000 }).place?.from).toBe(5000);
  expect(nextPlace("mark", -1, { ...around, here: 5000 }).place?.from).toBe(1000);
  expect(nextPlace("mark", 1, { ...around, here: null }).place?.from).toBe(1000);
  expect(nextPlace("mark", -1, { ...around, here: null }).place?.from).toBe(9000);
  expect(nextPlace("mark", 1, { ...around, here: 9000 }).place).toBeNull();
  expect(nextPlace("crank", 1, { ...around, here: 0 }).place).toBeNull();
});

test("a trace laid under is moved in time and says so", () => {
  const series = new Series("engine-speed", "7E8");
  for (let i = 0; i < 10; i++) series.append(i * 1000, 700 + i);
  const source = { channel: "engine-speed", series, unit: "rpm", colour: 0, stepped: false } as const;
  const picture = lanePicture({
    sources: [source, { ...source, under: { by: 2500 } }],
    spans: [],
    ranges: new VehicleRanges({}),
    system: "metric",
    stretch: { from: 0, to: 20_000 },
    width: 400,
    height: 60,
    axisWidth: 40,
    timeTicks: [],
  });
  expect(picture.traces.map((t) => t.under)).toEqual([false, true]);
  expect(picture.traces[1]?.points.t).toEqual(picture.traces[0]?.points.t.map((t) => t + 2500));
  expect(picture.traces[1]?.points.v).toEqual(picture.traces[0]?.points.v);
});
