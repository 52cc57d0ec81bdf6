import { expect, test } from "vitest";
import { askedChannels, withPin } from "../../src/page/lib/recording/askedChannels.ts";

const possible = ["engine-speed", "coolant", "intake-air", "load"];

test("the usual lanes ask for nothing by name, and pin what can be read", () => {
  expect(askedChannels({ lanes: null, pinned: ["coolant", "boost"] }, possible)).toEqual({
    channels: [],
    pinned: ["coolant"],
  });
});

test("own lanes are asked for, and what stands in none of them is not pinned either", () => {
  const lanes = [["engine-speed"], ["coolant", "boost"], ["coolant@7E9"]];
  expect(askedChannels({ lanes, pinned: ["coolant", "load"] }, possible)).toEqual({
    channels: ["engine-speed", "coolant"],
    pinned: ["coolant"],
  });
});

test("no more is asked for than one message takes", () => {
  const many = Array.from({ length: 90 }, (_, i) => `own-${i}`);
  const { channels, pinned } = askedChannels({ lanes: many.map((c) => [c]), pinned: many }, many);
  expect([channels.length, pinned.length]).toEqual([64, 64]);
});

test("pinned, and let go again", () => {
  expect(withPin(["load"], "coolant")).toEqual(["load", "coolant"]);
  expect(withPin(["load", "coolant"], "coolant@7E9")).toEqual(["load"]);
});
