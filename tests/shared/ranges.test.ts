import { expect, test } from "vitest";
import { channelInfo } from "../../shared/decode.ts";
import * as ranges from "../../shared/ranges.ts";

test("every range belongs to a channel, has its ends the right way round, and a source", () => {
  expect(ranges.ranges.length).toBeGreaterThan(20);
  for (const range of ranges.ranges) {
    expect(channelInfo(range.channel), range.channel).toBeDefined();
    expect(range.low, `${range.channel} ${range.regime}`).toBeLessThan(range.high);
    expect(range.source.length).toBeGreaterThan(5);
  }
});

test("no channel has two ranges for one regime", () => {
  const keys = ranges.ranges.map((r) => `${r.channel} ${r.regime}`);
  expect(new Set(keys).size).toBe(keys.length);
});
