import { expect, test } from "vitest";
import { aroundChange, usualSides } from "../../src/page/lib/job/usualSides.ts";

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

const started = Date.parse("2026-05-02T09:00:00Z");
const helped = (minute: number, more = {}) => ({
  at: new Date(started + minute * 60_000).toISOString(),
  did: "changed" as const,
  effect: "gone" as const,
  withdrawn: false,
  ...more,
});
const heard = (...minutes: number[]) => ({
  started,
  end: 600_000,
  cranks: minutes.map((minute) => ({ from: minute * 60_000 })),
});

test("within one recording: up to the crank that tried the first change, and from that of the last one", () => {
  const swapped = [helped(2.5), helped(4.5, { did: "reversed", effect: "back" }), helped(6.5)];
  expect(aroundChange(swapped, heard(1, 2, 4, 6))).toEqual({
    before: { from: 0, to: 120_000 },
    after: { from: 360_000, to: 600_000 },
  });
});

test("a change while the engine ran on lies where it was told; one that did not help, or of another day, is none", () => {
  expect(aroundChange([helped(5)], heard(1))).toEqual({
    before: { from: 0, to: 300_000 },
    after: { from: 300_000, to: 600_000 },
  });
  const none = [helped(5, { effect: "stays" }), helped(5, { withdrawn: true }), helped(-5), helped(11)];
  expect(aroundChange(none, heard(1))).toBeNull();
});
