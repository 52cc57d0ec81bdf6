/** What the page of 0.1.0 kept in the browser is read by today's, each form of it. */
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { keptFacts } from "../../src/page/lib/app/recordingOutboxes.ts";
import { FormKeep } from "../../src/page/lib/job/formKeep.ts";
import { JobKeep } from "../../src/page/lib/job/jobKeep.ts";
import { keptMarks } from "../../src/page/lib/marks/markKeep.ts";
import { typedSchema } from "../../src/page/lib/job/resultDraft.ts";
import { readSettings, settingsText } from "../../src/page/lib/app/settings.ts";
import { applyChanges } from "../../src/sheet/change.ts";
import { checkJob } from "../../src/sheet/job.ts";
import { fakeStorage } from "./fakeStorage.ts";
import { archivedJson, fullJob, lost } from "../archive/support.ts";

const kept = archivedJson("drafts.json") as Readonly<Record<string, string>>;
const file = "2024-03-02-110000-hatch-lean.ndjson";

function browser(): Storage {
  const storage = fakeStorage();
  for (const [name, text] of Object.entries(kept)) storage.setItem(name, text);
  return storage;
}
const stored = (name: string): unknown => JSON.parse(kept[name] ?? "null");

test("facts of a recording, and of the one that comes next", () => {
  const box = browser();
  const keep = keptFacts(() => box);
  for (const name of [file, "next"]) {
    const facts = keep.read(name);
    expect(lost(stored(`crankside-facts-${name}`), facts)).toEqual([]);
    expect(keep.write(name, facts)).toBe(true);
    expect(JSON.parse(box.getItem(`crankside-facts-${name}`) ?? "")).toEqual(
      stored(`crankside-facts-${name}`),
    );
  }
});

test("marks, an instant and a stretch", () => {
  const box = browser();
  const keep = keptMarks(() => box);
  const marks = keep.keys(`${file}/`).map((key) => keep.read(key));
  expect(marks.map((mark) => [mark?.label, mark?.at, mark?.until])).toEqual([
    ["hose held shut", 12268, 14764],
    ["oil smelled", 12268, undefined],
  ]);
});

test("changes of a job that was not saved, applied to it", async () => {
  const box = browser();
  const keep = new JobKeep(() => box, "z", { alive: () => Promise.resolve(new Set()) });
  expect(await keep.left()).toEqual([fullJob]);
  const changes = await keep.takeOver(fullJob, () => []);
  const job = checkJob(archivedJson(`kept/jobs/${fullJob}/job.json`), "x");
  const { job: merged, conflicts } = applyChanges(job, changes ?? [], "2024-03-03T09:00:00Z");
  expect(conflicts).toEqual([]);
  expect([merged.texts.conclusion, merged.texts.complaint, merged.who.customer]).toEqual([
    ...["A contact in the plug.", "Shakes at idle, said later.", "The orchard"],
  ]);
});

test("forms that were half filled in", () => {
  const box = browser();
  const forms = new FormKeep(() => box);
  expect(forms.read(`${file}/picked`, z.string())).toBe("plug-wiggle");
  expect(forms.read(`${file}/act-cable-drop`, z.string())).toBe("A new coil, half done");
  expect(forms.read(`${file}/plug-wiggle`, typedSchema)).toMatchObject({
    ...{ outcome: "drops", by: "Ada Smith", words: "Wiggled, and" },
  });
});

test("settings, with lanes and lane sets", () => {
  const before = kept["crankside"] ?? "";
  const settings = readSettings(before);
  expect(lost(stored("crankside"), settings)).toEqual([]);
  expect(settings.ownSets.map((set) => set.name)).toEqual(["My own"]);
  expect(lost(stored("crankside"), JSON.parse(settingsText(settings, before) ?? ""))).toEqual([]);
});
