import { expect, test } from "vitest";
import { usualSides } from "../../src/page/lib/job/usualSides.ts";

const at = (file: string, hour: number, problem: string | null = null) => ({
  file,
  started: `2026-05-02T${String(hour).padStart(2, "0")}:00:00Z`,
  problem,
});
const all = [at("third", 12), at("first", 9), at("second", 10), at("other", 8), at("torn", 7, "cut")];

test("the job's first and last recording are before and after", () => {
  expect(usualSides(all, new Set(["first", "second", "third"]), "second")).toEqual({
    before: "first",
    after: "third",
  });
});

test("the one that is shown counts with the job's; one that cannot be read, or is of another job, does not", () => {
  expect(usualSides(all, new Set(["first", "torn"]), "third")).toEqual({ before: "first", after: "third" });
  expect(usualSides(all, new Set(["third"]), "first")).toEqual({ before: "first", after: "third" });
});

test("both sides are never the same recording", () => {
  expect(usualSides(all, new Set(["first"]), "first")).toBeNull();
  expect(usualSides(all, new Set(), "first")).toBeNull();
  expect(usualSides([], new Set(["first"]), "first")).toBeNull();
});
