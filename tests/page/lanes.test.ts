import { expect, test } from "vitest";
import { channelInfo } from "../../shared/decode.ts";
import {
  channelsOf,
  laneColours,
  laneSets,
  moved,
  movedTo,
  readableChannels,
  usualLanes,
  withChannel,
  withoutChannel,
} from "../../src/page/lib/chart/lanes.ts";

const lanes = [["engine-speed"], ["coolant", "intake-air"], ["load"]] as const;

test("the usual lanes are those of the channels that are there, in the usual order", () => {
  expect(usualLanes(["coolant", "socket-voltage", "engine-speed", "monitors"])).toEqual([
    ["engine-speed"],
    ["socket-voltage"],
    ["coolant"],
  ]);
});

test("every lane set names channels that exist, each once", () => {
  for (const [name, lanes] of Object.entries(laneSets)) {
    const all = lanes.flat();
    expect(
      all.filter((channel) => channelInfo(channel) === undefined),
      name,
    ).toEqual([]);
    expect(new Set(all).size, name).toBe(all.length);
  }
});

test("a recording with none of the usual channels still opens with lanes", () => {
  expect(usualLanes(["boost", "odometer"])).toEqual([["boost"], ["odometer"]]);
  expect(usualLanes([])).toEqual([]);
});

test("channels that share a usual lane share a unit", () => {
  for (const lane of usualLanes(["trim-short-b1", "trim-long-b1", "coolant", "intake-air"])) {
    expect(new Set(lane.map((channel) => channelInfo(channel)?.unit)).size).toBe(1);
  }
});

test("lanes are added once, taken off, and moved as far as there is room", () => {
  expect(withChannel(lanes, "load")).toEqual(lanes);
  expect(withChannel(lanes, "advance").at(-1)).toEqual(["advance"]);
  expect(withoutChannel(lanes, "coolant")[1]).toEqual(["intake-air"]);
  expect(withoutChannel(lanes, "load")).toHaveLength(2);
  expect(moved(lanes, 0, 1).map((lane) => lane[0])).toEqual(["coolant", "engine-speed", "load"]);
  expect(moved(lanes, 0, -1)).toEqual(lanes);
  expect(moved(lanes, 2, 1)).toEqual(lanes);
  expect(channelsOf([["a"], ["b", "a"]])).toEqual(["a", "b"]);
});

test("traces of one lane differ in colour", () => {
  const colours = laneColours(["engine-speed", "trim-short-b1", "trim-short-b2", "x", "y"], 0);
  expect(new Set(colours).size).toBe(5);
});

test("what a module announces can be put in a lane; support maps cannot", () => {
  const found = readableChannels([], [{ address: "7E8", pids: [0x00, 0x0c, 0x20] }]);
  expect(found).toEqual(["socket-voltage", "engine-speed"]);
});

test("a lane is taken out and put in at another place, and never lost", () => {
  const four = [["a"], ["b"], ["c"], ["d"]];
  expect(movedTo(four, 0, 2)).toEqual([["b"], ["c"], ["a"], ["d"]]);
  expect(movedTo(four, 3, 0)).toEqual([["d"], ["a"], ["b"], ["c"]]);
  expect(movedTo(four, 1, 99)).toEqual([["a"], ["c"], ["d"], ["b"]]);
  expect(movedTo(four, 1, 1)).toBe(four);
  expect(movedTo(four, 9, 0)).toBe(four);
});
