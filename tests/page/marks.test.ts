import fc from "fast-check";
import { expect, test } from "vitest";
import { labelsOf, leastApart, placesOf } from "../../src/page/lib/marks/markPlaces.ts";
import { mergeMarks } from "../../src/page/lib/marks/markList.ts";

const kept = [
  { id: "b", at: 9000, label: "throttle opened" },
  { id: "a", at: 4000, label: "mark 1" },
];

test("marks stand by time", () => {
  expect(mergeMarks(kept, []).map((m) => m.id)).toEqual(["a", "b"]);
});

test("what is on its way is shown in place of what it replaces", () => {
  const merged = mergeMarks(kept, [
    { id: "a", at: 4000, until: 5000, label: "relay swapped" },
    { id: "c", at: 100, label: "mark 2" },
  ]);
  expect(merged.map((m) => m.label)).toEqual(["mark 2", "relay swapped", "throttle opened"]);
});

test("a mark that is being taken away is gone at once", () => {
  expect(mergeMarks(kept, [{ id: "a", at: 4000, label: "mark 1", removed: true }])).toHaveLength(1);
});

const stretch = { from: 10_000, to: 20_000 };

test("an instant and both ends of a stretch are drawn at their times, what is outside is not", () => {
  const marks = [
    { id: "a", at: 1000, label: "before" },
    { id: "b", at: 9000, until: 12_000, label: "into it" },
    { id: "c", at: 15_000, label: "instant" },
    { id: "d", at: 30_000, label: "behind" },
  ];
  const { lines, begins, covered, crowded } = placesOf(marks, stretch, 1000);
  expect(lines).toEqual([200, 500]);
  expect(begins).toEqual([500]);
  expect(covered).toEqual([{ from: -100, to: 200 }]);
  expect(crowded).toBe(false);
});

test("ten thousand marks are few lines, none of them covers twice, and they are drawn faint", () => {
  const marks = Array.from({ length: 10_000 }, (_, i) => ({
    id: String(i),
    at: 10_000 + i,
    ...(i % 2 === 0 ? { until: 10_000 + i + 40 } : {}),
    label: `mark ${i}`,
  }));
  const { lines, covered, crowded } = placesOf(marks, stretch, 900);
  expect(lines.length).toBeLessThanOrEqual(900 / leastApart + 1);
  expect(covered).toHaveLength(1);
  expect(crowded).toBe(true);
  const { labels, leftOut } = labelsOf(marks, stretch, { width: 900, lines: 2, least: 22 });
  expect(labels.length).toBeLessThanOrEqual(2 * (900 / 11) + 2);
  expect(labels.length + leftOut).toBe(10_000);
});

test("of any marks: lines rise and stand apart, each mark in view has a line beside it, and none is lost unsaid", () => {
  const mark = fc.record({
    at: fc.integer({ min: 0, max: 30_000 }),
    length: fc.integer({ min: 0, max: 9000 }),
  });
  fc.assert(
    fc.property(fc.array(mark, { maxLength: 200 }), fc.integer({ min: 50, max: 2000 }), (made, width) => {
      const marks = mergeMarks(
        made.map(({ at, length }, i) => ({
          ...{ id: String(i), at, label: "" },
          ...(length === 0 ? {} : { until: at + length }),
        })),
        [],
      );
      const { lines, covered } = placesOf(marks, stretch, width);
      for (const [i, x] of lines.entries())
        if (i > 0) expect(x - (lines[i - 1] ?? 0)).toBeGreaterThanOrEqual(leastApart);
      for (const [i, band] of covered.entries())
        if (i > 0) expect(band.from).toBeGreaterThan(covered[i - 1]?.to ?? 0);
      for (const { at } of marks) {
        if (at < stretch.from || at > stretch.to) continue;
        const x = ((at - stretch.from) / 10_000) * width;
        expect(lines.some((line) => line <= x + 1e-6 && x - line < leastApart)).toBe(true);
      }
      const row = labelsOf(marks, stretch, { width, lines: 2, least: 22 });
      const seen = marks.filter(({ at }) => at >= stretch.from && at <= stretch.to);
      expect(row.labels.length + row.leftOut).toBe(seen.length);
    }),
  );
});

test("a label ends where the next of its line begins, and stands before its mark at the right edge", () => {
  const at = (id: string, x: number) => ({ id, at: 10_000 + 10 * x, label: id });
  const marks = [at("a", 100), at("b", 200), at("c", 400), at("d", 980)];
  const { labels, leftOut } = labelsOf(marks, stretch, { width: 1000, lines: 2, least: 22 });
  expect(leftOut).toBe(0);
  expect(labels.map(({ mark, line, room, before }) => [mark.id, line, room, before])).toEqual([
    ["a", 0, 294, false],
    ["b", 1, 774, false],
    ["c", 0, 594, false],
    ["d", 1, 774, true],
  ]);
});
