/** Page one, the surveys side by side, and the order of the evidence. */
import fc from "fast-check";
import { beforeAll, expect, test } from "vitest";
import { surveyRows } from "../../shared/surveyWords.ts";
import { foldSurvey } from "../../shared/survey.ts";
import { complaints } from "../../src/interpret/causes/types.ts";
import { causes } from "../../src/interpret/causes/tables/causes.ts";
import { applyChanges, reversed } from "../../src/sheet/change.ts";
import { newJob, type JobDocument } from "../../src/sheet/job.ts";
import type { Block, Front, Note } from "../../src/sheet/note/blocks.ts";
import { brief, moreInAnnex } from "../../src/sheet/note/brief.ts";
import { composeNote } from "../../src/sheet/note/compose.ts";
import { noteMarkdown } from "../../src/sheet/note/markdown.ts";
import { modulesOf } from "../../src/sheet/put.ts";
import { driverRows } from "../../src/sheet/tables/driver.ts";
import { leanBankJob, noStartJob, type SampleJob } from "../support/sampleJobs.ts";
import { clip, created, jobWith, readingOf, recordingItem, sourcesOf, tie } from "./support.ts";

let noStart: SampleJob;
let lean: SampleJob;

beforeAll(async () => {
  noStart = await noStartJob();
  lean = await leanBankJob();
}, 240_000);

function noteOf({ job, sources }: Pick<SampleJob, "job" | "sources">): Note {
  return composeNote(job, sources, { system: "metric", made: created, writer: "test" });
}

function frontOf(job: JobDocument, sources = sourcesOf(readingOf(8))): Front {
  const { front } = noteOf({ job, sources });
  if (front === null) throw new Error("no page one");
  return front;
}

const blocks = (note: Note, id: string): readonly Block[] =>
  note.sections.find((s) => s.id === id)?.blocks ?? [];

test("a relay that was swapped and swapped back is told as found, proved, and done, with before and after", () => {
  const front = frontOf(noStart.job, noStart.sources);
  expect(front.complaint.words).toContain("does not start");
  expect(front.found.words).toMatch(/relay/i);
  expect(front.proved.words).toMatch(/^Proved\. .*came back when it was undone/);
  expect(front.proved.words).toContain("before and after: repaired");
  expect(front.done.words).toBe("2024-03-02: replace the relay; the fault went away.");
  expect(front.compared?.head).toEqual(["", "before (2024-03-02 09:00)", "after (2024-03-02 10:30)"]);
  expect(front.compared?.rows.slice(0, 2)).toEqual([
    ["At the key", "turned, did not fire", expect.stringMatching(/^started after /)],
    ["Trouble codes", "P0685", "none"],
  ]);
  // A crank that does not fire, and not the moment at which a code was read.
  expect(front.picture?.caption).toMatch(/^Cranks? /);
  expect(front.picture?.svg?.text).toMatch(/^<svg.*<path/s);
  expect(front.left.words).toBe("Nothing that is known.");
});

test("the note begins with the sentence: what was seen, the cause and how far it is proved; none without evidence", () => {
  expect(noteOf(noStart).said).toMatch(
    /^Did not start in 3 cranks, then started; proved: .*relay.*; repaired\.$/,
  );
  expect(noteOf(lean).said).toMatch(/^Bank 2 .*\.$/);
  const file = noteMarkdown(noteOf(noStart)).find(({ name }) => name === "note.md");
  const [head, , first] = String(file?.content).split("\n");
  expect(head).toMatch(/^# /);
  expect(first).toMatch(/Did not start in 3 cranks/);
  expect(noteOf({ job: jobWith({}), sources: sourcesOf(readingOf(8)) }).said).toBe("");
});

test("without a written conclusion the annex tells what was proved and how; while nothing is shown it tells none", () => {
  const conclusionOf = (job: JobDocument): unknown =>
    noteOf({ job: { ...job, texts: {} }, sources: noStart.sources }).sections.find(
      (s) => s.id === "conclusion",
    )?.blocks;
  expect(conclusionOf(noStart.job)).toEqual([
    {
      kind: "text",
      text: expect.stringMatching(/relay.*Proved\. .*came back when it was undone/i) as string,
    },
  ]);
  expect(conclusionOf({ ...noStart.job, log: {}, causes: {}, entries: {} })).toBeUndefined();
});

test("what the person wrote goes before what is worked out, and the picture is the one that was chosen", () => {
  const front = frontOf(lean.job, lean.sources);
  expect(front.found.words).toContain("The intake gasket of bank 2 leaked");
  expect(front.done.words).toContain("bolts drawn");
  expect(front.left.words).toBe("The battery is five years old.");
  expect(front.back.words).toBe("After 500 km, to look at the trims again; no charge.");
  const [id = ""] = Object.keys(lean.job.clips);
  const chosen = { ...lean.job, front: { found: "A leak.", picture: id } };
  expect(frontOf(chosen, lean.sources)).toMatchObject({
    found: { words: "A leak." },
    picture: { caption: lean.job.clips[id]?.caption ?? "" },
  });
  expect(frontOf({ ...chosen, front: { picture: "" } }, lean.sources).picture).toBeNull();
});

test("where nothing is known page one says so", () => {
  const front = frontOf(newJob("2024-03-02-van", created));
  expect(front).toMatchObject({
    found: { words: "The cause is not found yet." },
    proved: { words: "Nothing is proved yet." },
    done: { words: "Nothing was changed yet." },
    compared: null,
    picture: null,
  });
});

test("a change that was withdrawn or undone is not told as done, nor a proof that it gave", () => {
  const at = (n: number): string => `2024-03-02T1${n}:00:00.000+01:00`;
  const act = { k: "act", cause: "relay-open", did: "changed", effect: "gone" } as const;
  const log = {
    a: { order: 1, entry: { ...act, id: "a", at: at(0) } },
    b: { order: 2, entry: { k: "withdraw", id: "b", at: at(1), of: "a", words: "wrong job" } },
  };
  expect(frontOf(jobWith({ log })).done.words).toBe("Nothing was changed yet.");
  expect(frontOf(jobWith({ log })).found.words).toBe("The cause is not found yet.");
  const undone = {
    ...log,
    b: { order: 2, entry: { ...act, id: "b", at: at(1), did: "reversed", effect: "back" } },
  };
  const front = frontOf(jobWith({ log: undone }));
  expect(front.done.words).toBe("Nothing was changed yet.");
  expect(front.proved.words).toMatch(/^Proved\./);
  // It is broken again.
  expect(front.left.words).toContain("not shown to be gone");
});

test("surveys stand side by side in the order of time, whenever they were put on the sheet", () => {
  const survey = (says: string, at: string, order: number): object => ({
    ...{ order, section: "modules", tie, words: "" },
    says: { kind: "modules", modules: [{ module: "7E8", rows: [{ what: "stored codes", says }] }], at },
  });
  const job = jobWith({
    recordings: { a: recordingItem },
    // The later one was put first.
    entries: {
      a: survey("none", "2024-03-02T12:00:00.000+01:00", 1),
      b: survey("P0335 crankshaft position sensor, circuit", "2024-03-02T09:05:00.000+01:00", 2),
    },
  });
  const note = noteOf({ job, sources: sourcesOf(readingOf(8)) });
  const [table] = blocks(note, "modules");
  expect(table).toMatchObject({
    head: ["what", "first, 2024-03-02 09:05", "last, 2024-03-02 12:00"],
    rows: [["stored codes", "P0335 crankshaft position sensor, circuit", "none"]],
  });
  expect(note.front?.compared?.rows).toEqual([["Trouble codes", "P0335", "none"]]);
});

test("what the modules say has on the sheet the words that it has everywhere: lamp, readiness, CVN, meanings", () => {
  // Service 01 parameter 01: lamp on and one code, A = 0x81; service 03 on CAN: one code, P0335; 09/06: one CVN.
  const data = (...bytes: number[]): { module: string; data: Uint8Array } => ({
    module: "7E8",
    data: Uint8Array.from(bytes),
  });
  const answers = [
    ...[data(0x41, 0x01, 0x81, 0x07, 0x65, 0x04), data(0x43, 0x01, 0x03, 0x35)],
    data(0x49, 0x06, 0x01, 0x17, 0x91, 0xbc, 0x82),
  ];
  const survey = foldSurvey(answers, true, null);
  const [module] = modulesOf(survey);
  const [said] = survey.modules;
  if (module === undefined || said === undefined) throw new Error("no module");
  const lines = surveyRows(said).flatMap(({ name, lines: all }) => all.map((says) => ({ what: name, says })));
  expect(module.rows).toEqual(lines);
  const text = JSON.stringify(module.rows);
  for (const words of ["MIL on, 1 stored", "not complete:", "1791BC82", "P0335 "])
    expect(text).toContain(words);
  expect(module.rows.find((r) => r.what === "stored codes")?.says.length).toBeGreaterThan("P0335 ".length);
});

test("evidence stands by recording in the order of time, its items by their place, each with its time", () => {
  const later = { ...tie, file: "later.ndjson" };
  const crankless = (at: number, title: string): object => ({
    kind: "sign",
    sign: {
      ...{ id: "power.rest-voltage", family: "power", key: title, verdict: "near", title },
      ...{ windows: [{ from: at, to: at + 500 }], channels: [], measured: null, range: null },
      ...{ meaning: "Low.", looksLike: [], checks: [] },
    },
  });
  const entry = (order: number, of: object, says: object): object => ({
    order,
    section: "signs",
    tie: of,
    words: "",
    says,
  });
  const job = jobWith({
    recordings: {
      b: { ...recordingItem, order: 1, tie: later, started: "2024-03-02T11:00:00.000+01:00" },
      a: { ...recordingItem, order: 2 },
    },
    entries: {
      c: entry(1, later, crankless(1000, "third")),
      b: entry(2, tie, crankless(5000, "second")),
      a: entry(3, tie, crankless(1000, "first")),
    },
    clips: { x: { ...clip, from: 3000, caption: "between" } },
  });
  const told = blocks(noteOf({ job, sources: sourcesOf(readingOf(8)) }), "evidence").flatMap((b): string[] =>
    b.kind === "heading"
      ? [b.text]
      : b.kind === "statement"
        ? [`${b.title} ${b.source}`]
        : b.kind === "chart"
          ? [b.caption]
          : [],
  );
  expect(told).toEqual([
    "2024-03-02 09:00 · first.ndjson",
    "first first.ndjson, 2024-03-02 09:00:01",
    "between",
    "second first.ndjson, 2024-03-02 09:00:05",
    "2024-03-02 11:00 · later.ndjson",
    "third later.ndjson, 2024-03-02 11:00:01",
  ]);
});

test("what was done stands under what was done, and not under hand checks", () => {
  const note = noteOf(noStart);
  const names = (id: string): string[] =>
    blocks(note, id).flatMap((b) => (b.kind === "check" ? [b.name] : []));
  expect(names("checks")).toEqual(["Relay swapped", "Relay swapped back"]);
  expect(names("done")).toEqual(["Done: replace the relay"]);
});

test("Markdown has page one before the annex, with its picture beside it", () => {
  const files = noteMarkdown(noteOf(noStart));
  const text = String(files[0]?.content);
  for (const title of ["What was found", "How it was proved", "Before and after", "When to come back"])
    expect(text.indexOf(`## ${title}`)).toBeLessThan(text.indexOf("# Annex for the colleague"));
  expect(text).toContain("(pictures/page-one.svg)");
  expect(files.some((f) => f.name === "pictures/page-one.svg")).toBe(true);
});

test("words for page one are set, undone and merged like any others, in a job that never had any", () => {
  const job = newJob("2024-03-02-van", created);
  const change = { path: ["front", "back"], after: "In a week." } as const;
  const written = applyChanges(job, [change], created).job;
  expect(written.front).toEqual({ back: "In a week." });
  const undone = applyChanges(written, reversed([change]), created).job;
  expect(undone.front?.back).toBeUndefined();
});

test("a brief text is never longer than its room, and says where something was cut", () => {
  fc.assert(
    fc.property(
      fc.string({ unit: "grapheme", maxLength: 400 }),
      fc.integer({ min: 40, max: 300 }),
      (text, longest) => {
        const short = brief(text, longest);
        const plain = text.replace(/\s+/gu, " ").trim();
        expect(Array.from(short).length).toBeLessThanOrEqual(longest);
        if (short !== plain) expect(short.endsWith(moreInAnnex)).toBe(true);
      },
    ),
  );
  expect(brief("One. Two. Three.", 100, 2)).toBe(`One. Two. ${moreInAnnex}`);
  expect(brief("It fell to 3.5 V at once. Then it rose.", 60, 1)).toBe(
    `It fell to 3.5 V at once. ${moreInAnnex}`,
  );
});

test("each row for the driver can apply, and says where it is from", () => {
  const ids = new Set<string>(causes.map((c) => c.id));
  expect(new Set(driverRows.map((r) => r.id)).size).toBe(driverRows.length);
  for (const { when, text, source } of driverRows) {
    expect(Object.keys(when).length).toBeGreaterThan(0);
    for (const cause of when.causes ?? []) expect(ids.has(cause), cause).toBe(true);
    for (const complaint of when.complaints ?? []) expect(complaints).toContain(complaint);
    expect(text.length).toBeLessThan(200);
    expect(source).not.toBe("");
  }
});
