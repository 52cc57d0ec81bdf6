/** What is written on a chart finds room, however narrow it is: nothing lies over another, nothing is cut by the edge. */
import { scaleLinear } from "d3-scale";
import fc from "fast-check";
import { expect, test } from "vitest";
import { VehicleRanges } from "../../src/interpret/report/ranges.ts";
import { namesOf, placeMarks, wrapped, type Plot } from "../../src/sheet/chart/labels.ts";
import { readingOf } from "./support.ts";

function plot(left: number, width: number, labels: readonly string[] = []): Plot {
  const marks = labels.map((label, i) => ({ t: 9000, k: "mark", id: `m${i}`, at: 7900, label }));
  return {
    side: {
      reading: readingOf(8, marks),
      spans: [],
      ranges: new VehicleRanges({}),
      stretch: { from: 0, to: 8000 },
    },
    left,
    width,
    x: scaleLinear([0, 8000], [left, left + width]),
    clip: "c",
  };
}

test("names of two sides beside each other stay on their own side, in rows of their own", () => {
  const lane = ["engine-speed", "socket-voltage", "coolant"];
  const how = { colours: [0, 1, 2], system: "metric" } as const;
  for (const width of [110, 161, 340, 700]) {
    const { placed, height } = namesOf([plot(46, width), plot(46 + width + 26, width)], lane, how);
    expect(placed).toHaveLength(6);
    const ends = placed.map((p) => p.x + 16 + p.text.length * 5.6);
    for (const [i, name] of placed.entries()) {
      const side = i < 3 ? 46 : 46 + width + 26;
      expect(ends[i]).toBeLessThanOrEqual(side + width + 26);
      const next = placed[i + 1];
      if (next?.row === name.row && i !== 2) expect(next.x).toBeGreaterThan(ends[i] ?? 0);
    }
    expect(height).toBe(17 + 12 * Math.max(...placed.map((p) => p.row)));
  }
  expect(namesOf([plot(46, 700)], lane, how).height).toBeLessThan(namesOf([plot(46, 110)], lane, how).height);
});

test("the label of a mark at the edge begins before its line, and ends within the chart", () => {
  const { marks } = placeMarks(plot(46, 161, ["intake sealed for a minute"]), (text) => text);
  expect(marks).toHaveLength(1);
  expect(marks[0]?.at).toBeGreaterThanOrEqual(46);
  expect((marks[0]?.at ?? 0) + (marks[0]?.text.length ?? 0) * 5.4).toBeLessThanOrEqual(46 + 161);
});

test("lines of a foot are no wider than the chart, and hold every letter", () => {
  fc.assert(
    fc.property(fc.string({ maxLength: 300 }), fc.integer({ min: 100, max: 800 }), (text, width) => {
      const lines = wrapped(text, width);
      for (const line of lines) expect(line.length * 5.2).toBeLessThanOrEqual(Math.max(width, 42));
      expect(lines.join("").replaceAll(" ", "")).toBe(text.replaceAll(" ", ""));
    }),
  );
});
