import { expect, test } from "vitest";
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
