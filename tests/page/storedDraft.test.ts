/** Drafts that another version of the program left in the browser: read where they can be, never taken away. */
import { expect, test } from "vitest";
import { z } from "zod/mini";
import type { Renamed } from "../../shared/stored/renamed.ts";
import { keptFacts } from "../../src/page/lib/app/recordingOutboxes.ts";
import { FormKeep } from "../../src/page/lib/job/formKeep.ts";
import { JobKeep } from "../../src/page/lib/job/jobKeep.ts";
import { keptMarks } from "../../src/page/lib/marks/markKeep.ts";
import { readSettings, settingsText, usualSettings } from "../../src/page/lib/app/settings.ts";
import { currentChange } from "../../src/sheet/change.ts";
import { fakeStorage as storage } from "./fakeStorage.ts";

const nobody = { alive: () => Promise.resolve(new Set<string>()) };

test("what a page left of a job and cannot be read stays; of a later version it is told", async () => {
  const box = storage();
  const later = JSON.stringify({ version: 2, changes: [{ at: "texts.done", to: "Plug cleaned." }] });
  box.setItem("crankside-job-van/a", later);
  box.setItem("crankside-job-van/b", "{ no JSON");
  box.setItem("crankside-job-bus/c", JSON.stringify([{ path: ["texts", "done"], after: "x" }]));
  const keep = new JobKeep(() => box, "z", nobody);
  expect(await keep.takeOver("van", () => [])).toBeNull();
  expect([keep.leftByLater("van"), keep.leftByLater("bus")]).toEqual([true, false]);
  expect([box.getItem("crankside-job-van/a"), box.getItem("crankside-job-van/b")]).toEqual([
    later,
    "{ no JSON",
  ]);
  expect(await keep.left()).toEqual(["bus"]);
});

test("facts, forms and settings that a later version keeps are neither read nor written over", () => {
  const box = storage();
  const later = JSON.stringify({ version: 2, all: { complaint: "Shakes." } });
  for (const name of ["facts-next", "form-a", "mark-x/m1"]) box.setItem(`crankside-${name}`, later);
  const facts = keptFacts(() => box);
  expect(facts.read("next")).toBeNull();
  expect([facts.write("next", { complaint: "mine" }), facts.write("next", null)]).toEqual([false, false]);
  const form = new FormKeep(() => box);
  form.write("a", "mine");
  form.write("a", null);
  expect(form.read("a", z.any())).toBeNull();
  expect(keptMarks(() => box).read("x/m1")).toBeNull();
  for (const name of ["facts-next", "form-a", "mark-x/m1"])
    expect(box.getItem(`crankside-${name}`)).toBe(later);
  expect(readSettings(later)).toEqual(usualSettings);
  expect(settingsText(usualSettings, later)).toBeNull();
});

test("settings and facts keep what another version has in them", () => {
  const before = JSON.stringify({ units: "us", ofLater: { deep: 1 } });
  const text = settingsText({ ...readSettings(before), span: 30 }, before) ?? "";
  expect(JSON.parse(text)).toMatchObject({ units: "us", span: 30, ofLater: { deep: 1 } });
  const box = storage();
  const typed = { complaint: "Shakes.", ofLater: 1, vehicle: { name: "Van", ofLater: { deep: 2 } } };
  box.setItem("crankside-facts-next", JSON.stringify(typed));
  expect(keptFacts(() => box).read("next")).toEqual(typed);
});

const table: Renamed = {
  causes: { "pump-dead": "pump" },
  checks: { "old-spark": { now: "spark", outcomes: { blue: "strong" } } },
  ...{ signs: {}, channels: {}, complaints: {} },
};

test("a form that was filled in under the former name of its check or cause is found", () => {
  const box = storage();
  const shape = z.object({ outcome: z.nullable(z.string()) });
  box.setItem("crankside-form-a.ndjson/old-spark", JSON.stringify({ outcome: "blue" }));
  box.setItem("crankside-form-a.ndjson/act-pump-dead", JSON.stringify("new pump"));
  const keep = new FormKeep(() => box, table);
  expect(keep.read("a.ndjson/spark", shape)).toEqual({ outcome: "strong" });
  expect(keep.read("a.ndjson/act-pump", z.string())).toBe("new pump");
  keep.write("a.ndjson/spark", { outcome: null });
  expect(box.getItem("crankside-form-a.ndjson/old-spark")).toBeNull();
});

test("changes of a job that were not saved yet name today's ids", () => {
  const entry = { k: "result", id: "a", at: "2024-03-02T08:00:00Z", check: "old-spark", outcome: "blue" };
  expect(currentChange({ path: ["log", "a"], after: { order: 1, entry } }, table)).toEqual({
    path: ["log", "a"],
    after: { order: 1, entry: { ...entry, check: "spark", outcome: "strong" } },
  });
  expect(currentChange({ path: ["advice", "next"], before: "old-spark" }, table)).toEqual({
    path: ["advice", "next"],
    before: "spark",
  });
  const words = { path: ["texts", "done"], before: "old-spark", after: "pump-dead" };
  expect(currentChange(words, table)).toEqual(words);
});
