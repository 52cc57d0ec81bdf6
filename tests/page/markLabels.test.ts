import { expect, test } from "vitest";
import { labelsApart, labelsFor } from "../../src/page/lib/marks/labels.ts";

test("own labels come first, each once, and cylinders only as far as the engine has them", () => {
  const labels = labelsFor(["relay swapped", "belt off", "cylinder 9 unplugged"], 4);
  expect(labels.slice(0, 2)).toEqual(["relay swapped", "belt off"]);
  expect(new Set(labels).size).toBe(labels.length);
  const { plain, cylinders } = labelsApart(labels);
  expect(cylinders).toEqual([1, 2, 3, 4].map((n) => `cylinder ${n} unplugged`));
  expect([...plain, ...cylinders].sort()).toEqual([...labels].sort());
  expect(labelsFor(["a", "b", "c", "d", "e", "f", "g"], 4)).not.toContain("g");
});
