/** Jobs and bundles of 0.1.0: opened, shown as they were said, saved, and all that was in them is still in them. */
import { cpSync, existsSync, mkdtempSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { currentCheck, withdrawn } from "../../shared/stored/renamed.ts";
import { withCurrentIds } from "../../shared/stored/jobIds.ts";
import { foldLog } from "../../src/interpret/causes/results.ts";
import { writeBundle } from "../../src/recorder/jobs/bundle.ts";
import { noteOf } from "../../src/recorder/jobs/note.ts";
import { openBundle } from "../../src/recorder/jobs/openBundle.ts";
import { readSources, tiesOf } from "../../src/recorder/jobs/sources.ts";
import type { JobStore } from "../../src/recorder/jobs/store.ts";
import { inOrder, type JobDocument } from "../../src/sheet/job.ts";
import { actText, historyLines, resultText } from "../../src/sheet/logText.ts";
import { noteMarkdown } from "../../src/sheet/note/markdown.ts";
import { saysOf } from "../../src/sheet/snapshot.ts";
import { statementOf, type Statement } from "../../src/sheet/statement.ts";
import { crankside, tempFolder } from "../support/program.ts";
import { archive, archivedJson, fullJob, keptIn, lost } from "./support.ts";

const folder = tempFolder();
let store: JobStore;
let job: JobDocument;
const raw = archivedJson(`kept/jobs/${fullJob}/job.json`) as Readonly<Record<string, unknown>>;
const made = { system: "metric", made: "2024-03-03T09:00:00.000+00:00", writer: "test" } as const;

interface Shown {
  readonly entries: Readonly<Record<string, { readonly metric: Statement; readonly us: Statement }>>;
  readonly results: readonly { id: string; state: string; text: { says: string }; history: string[] }[];
  readonly acts: readonly { id: string; withdrawn: boolean; text: { says: string }; history: string[] }[];
}
const shown = archivedJson("shown/job.json") as Shown;

beforeAll(async () => {
  store = keptIn(folder.path);
  job = await store.read(fullJob);
});
afterAll(() => folder.remove());

test("the job has all that is in its file, at every level", () => {
  expect(lost(withCurrentIds(raw), job)).toEqual([]);
  const kinds = new Set(Object.values(job.entries).map((e) => e.says.kind));
  expect([...kinds].sort()).toEqual([
    ...["advice", "balance", "before-after", "comparison", "crank", "modules", "sign"],
  ]);
});

test("each statement says what it said then, in metric and US units, and can be laid out with its figures", () => {
  const now = Object.fromEntries(
    Object.entries(job.entries).map(([id, entry]) => [
      id,
      { metric: statementOf(entry, "metric"), us: statementOf(entry, "us") },
    ]),
  );
  expect(lost(shown.entries, now)).toEqual([]);
  expect(Object.values(job.entries).filter((entry) => saysOf(entry.says) === null)).toEqual([]);
});

test("each result and act of the log is shown with its figures, and counts as it did", () => {
  const log = foldLog(
    inOrder(job.log).map((item) => item.entry),
    job.vehicle,
  );
  const own = (lines: readonly string[]): number =>
    lines.filter((line) => /^\d{4}-\d\d-\d\d/.test(line)).length;
  for (const before of shown.results) {
    const now = log.results.find((r) => r.id === before.id);
    if (now === undefined) throw new Error(`${before.id} is gone`);
    const given = Object.hasOwn(withdrawn.checks, currentCheck({ check: now.check }).check);
    expect([before.id, now.state]).toEqual([before.id, given ? "questioned" : before.state]);
    const { name, says } = resultText(now);
    expect(name).not.toBe("");
    // The tables may word an outcome better; the reading is the person's.
    expect(says).toContain(/Reading: [^(]*/.exec(before.text.says)?.[0] ?? "");
    expect(says === "").toBe(before.text.says === "");
    expect(own(historyLines(now))).toBe(own(before.history));
    for (const words of ["No change.", "The third was read again.", "Not this vehicle."])
      if (before.history.join().includes(words)) expect(historyLines(now).join()).toContain(words);
  }
  expect(log.acts.map((act) => ({ id: act.id, withdrawn: act.withdrawn, says: actText(act).says }))).toEqual(
    shown.acts.map((act) => ({ id: act.id, withdrawn: act.withdrawn, says: act.text.says })),
  );
  expect(log.problems).toEqual([]);
});

test("every tie fits its recording, wherever that was moved", async () => {
  const sources = await readSources(store, job);
  const ties = tiesOf(job);
  expect(ties.length).toBeGreaterThan(4);
  expect(ties.map((tie) => sources.evidence(tie).state)).toEqual(ties.map(() => "fits"));
});

test("the note has every statement's title and words, and every word of the person's", async () => {
  const files = noteMarkdown(await noteOf(store, fullJob, made));
  const note = String(files.find((file) => file.name === "note.md")?.content).replace(/\\(.)/g, "$1");
  const plain = note.replace(/\s+/g, " ");
  const wanted = inOrder(job.entries).flatMap(({ id, says, words }) => {
    const { title, generated } = shown.entries[id]?.metric ?? { title: "?", generated: "?" };
    return says.kind === "sign" ? [words === "" ? generated : words, title] : words === "" ? [] : [words];
  });
  expect(wanted.length).toBeGreaterThan(20);
  expect(wanted.filter((words) => !plain.includes(words.replace(/\s+/g, " ")))).toEqual([]);
  expect(plain).toContain("In my own words on conclusion: ü, “quoted”, a new line.");
});

test("a change is saved, and nothing else of the file is", async () => {
  const own = mkdtempSync(join(folder.path, "saved-"));
  const kept = keptIn(own);
  await kept.change(fullJob, [
    { path: ["texts", "open"], before: job.texts.open ?? "", after: "Nothing more." },
  ]);
  const saved: unknown = JSON.parse(readFileSync(join(own, "jobs", fullJob, "job.json"), "utf8"));
  expect(lost(withCurrentIds(raw), saved)).toEqual([".revision", ".changed", ".texts.open"]);
});

test("the job that holds nothing and is archived opens too, and both are listed", async () => {
  const bare = await store.read("2024-03-02-nothing-yet");
  expect([bare.archived, bare.revision]).toEqual([true, 1]);
  const list = await store.list();
  expect(list.map((entry) => [entry.id, entry.problem])).toEqual(
    expect.arrayContaining([
      [fullJob, null],
      ["2024-03-02-nothing-yet", null],
    ]),
  );
  expect(await store.last()).toBe(fullJob);
});

test("a bundle opens as a job of its own with all that is in it, and packed again it opens once more", async () => {
  const own = mkdtempSync(join(folder.path, "opened-"));
  const other = keptIn(own);
  const { job: opened } = await openBundle(other, join(archive, "files/bundle.zip"));
  expect(opened.id).toBe(`${fullJob}-2`);
  expect(lost({ ...withCurrentIds(raw), id: opened.id }, opened)).toEqual([]);
  const there = readdirSync(join(own, "jobs", opened.id, "recordings")).length;
  expect(there).toBe(new Set(tiesOf(job).map((tie) => tie.file)).size);
  const path = join(own, "again.zip");
  await writeBundle(other, opened.id, { ...made, path });
  const again = await openBundle(other, path);
  expect(lost({ ...opened, id: again.job.id }, again.job)).toEqual([]);
});

test("a bundle in which all was hidden opens, and says what it is without", async () => {
  const own = mkdtempSync(join(folder.path, "masked-"));
  const { job: opened, about } = await openBundle(keptIn(own), join(archive, "files/bundle-masked.zip"));
  expect(opened.who).toEqual({ mechanic: "••••••", customer: "••••••", plate: "••••••" });
  expect(about.join()).toContain("Recordings are left out");
  expect(Object.keys(opened.entries).length).toBe(Object.keys(job.entries).length);
});

test("the command line writes the note of an old job", async () => {
  const own = mkdtempSync(join(folder.path, "note-"));
  cpSync(join(archive, "kept"), own, { recursive: true });
  const out = join(own, "note.html");
  const { status } = await crankside(["note", fullJob, "--folder", own, "--html", out]);
  expect([status, existsSync(out)]).toEqual([0, true]);
}, 180_000);

test("a job of a later version is refused in words, by every door, and not a byte of its folder changes", async () => {
  const own = mkdtempSync(join(folder.path, "later-"));
  const kept = keptIn(own);
  const path = join(own, "jobs", fullJob, "job.json");
  const later = JSON.stringify({ ...raw, version: 2, texts: "in another form" });
  writeFileSync(path, later);
  const before = readdirSync(own, { recursive: true }).toSorted();
  const change = { path: ["archived"], before: false, after: true };
  const doors = [
    () => kept.read(fullJob),
    () => kept.opened(fullJob),
    () => kept.change(fullJob, [change]),
    () => kept.addPhoto(fullJob, new Uint8Array(8)),
    () => kept.takeIn(fullJob, "2024-03-02-100000-hatch-shakes.ndjson"),
    () => writeBundle(kept, fullJob, { ...made, path: join(own, "out.zip") }),
    () => noteOf(kept, fullJob, made),
  ];
  for (const door of doors) {
    await expect(door()).rejects.toMatchObject({ code: "newer-format" });
    await expect(door()).rejects.toThrow(/the job is of a newer format.*version 2.*nothing was changed/s);
  }
  const [listed] = (await kept.list()).filter((entry) => entry.id === fullJob);
  expect(listed?.problem).toContain("of a newer format");
  expect(readFileSync(path, "utf8")).toBe(later);
  expect(readdirSync(own, { recursive: true }).toSorted()).toEqual(before);
});
