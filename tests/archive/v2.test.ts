/** What 0.1.0 could not write yet: newer facts, a survey with its time, words of page one. Opened, shown, saved whole. */
import { cpSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/index.ts";
import { Reading, surveyOf } from "../../src/reading/index.ts";
import { noteOf } from "../../src/recorder/jobs/note.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { effectiveFacts } from "../../src/sheet/effectiveFacts.ts";
import { readNormal } from "../../src/interpret/index.ts";
import { noteMarkdown } from "../../src/sheet/note/markdown.ts";
import { readCase } from "../../src/sheet/practiceCase.ts";
import { readCases } from "../../src/sheet/shelf/cases.ts";
import { saysOf } from "../../src/sheet/snapshot.ts";
import { tempFolder } from "../support/program.ts";
import { lost, type Json } from "./support.ts";

const kept = join(import.meta.dirname, "v2/kept");
const file = "2024-03-04-090000-lorry.ndjson.gz";
const id = "2024-03-04-lorry";
const folder = tempFolder();
afterAll(() => folder.remove());
cpSync(kept, folder.path, { recursive: true });
const store = new JobStore({ own: folder.path, bundled: null }, new VirtualClock(Date.UTC(2024, 2, 5)));
const raw = (): Record<string, Json> =>
  JSON.parse(readFileSync(join(kept, "jobs", id, "job.json"), "utf8")) as Record<string, Json>;
const made = { system: "metric", made: "2024-03-05T09:00:00.000+00:00", writer: "test" } as const;
const facts = { fuel: "diesel", throttled: false, stopsAtStandstill: false, hybrid: false, supplyVolts: 24 };

test("the recording is whole, and says its facts and what the modules said, at key on and at the end", async () => {
  const path = join(kept, file);
  expect((await verifyRecording(path)).state).toBe("whole");
  const reading = new Reading(path);
  await readRecording(path, reading.sink);
  expect(reading.facts).toMatchObject({ complaint: "cranks slowly on Mondays", vehicle: facts });
  const asked = reading.answers.filter(({ ask }) => ask.startsWith("03")).map(({ t }) => t);
  expect(Math.min(...asked)).toBeLessThan(reading.lastTime / 2);
  expect(Math.max(...asked)).toBeGreaterThan(reading.lastTime / 2);
  expect(surveyOf(reading)?.survey.modules.length).toBeGreaterThan(0);
});

test("the job has all that is in its file, and a change saves all of it", async () => {
  expect(lost(raw(), await store.read(id))).toEqual([]);
  await store.change(id, [{ path: ["texts", "open"], after: "Nothing more." }]);
  const saved = JSON.parse(readFileSync(join(store.folder(id), "job.json"), "utf8")) as unknown;
  const { revision, changed, texts, ...rest } = raw();
  expect([typeof revision, typeof changed]).toEqual(["number", "string"]);
  expect(lost({ ...rest, texts: texts ?? null }, saved)).toEqual([]);
});

test("its survey can be laid out with its time, and the interpreter is told its facts", async () => {
  const job = await store.read(id);
  const [says] = Object.values(job.entries).map((entry) => saysOf(entry.says));
  expect(says).toMatchObject({ kind: "modules", at: "2024-03-04T10:01:00.000+01:00" });
  expect(effectiveFacts({}, job, file).facts.vehicle).toMatchObject(facts);
});

test("page one has the person's own words", async () => {
  const job = await store.read(id);
  const note = String(
    noteMarkdown(await noteOf(store, id, made)).find(({ name }) => name === "note.md")?.content,
  ).replace(/\\(.)/g, "$1");
  const words = Object.values(job.front ?? {});
  expect(words).toHaveLength(7);
  for (const text of words) expect(note).toContain(text);
});

const given = (name: string): string => readFileSync(join(kept, "../files", name), "utf8");

test("own cases, cases to practise on and what was learned of a vehicle open as they were meant", () => {
  const cases = readCases(given("own-cases.json"), "x");
  expect(cases.map(({ cause, complaints }) => [cause, complaints])).toEqual([
    ["relay-open", ["no-start"]],
    ["battery-worn", ["cranks-slowly"]],
  ]);
  expect(readCase(given("practice-case.json"), "x")).toEqual({
    ...{ title: "Cranks slowly", story: "Every morning it turns more slowly.", complaint: "cranks slowly" },
    ...{ knows: 120, recording: null },
    hidden: {
      causes: ["cable-drop"],
      bench: { vehicle: "quarry-lorry", faults: [{ name: "cable-resistance", severity: 0.8 }] },
    },
  });
  const { recording, hidden } = readCase(given("practice-case-of-a-recording.json"), "x");
  expect(hidden).toEqual({ causes: ["battery-worn"] });
  expect(recording?.file).toBe(file);
  expect(Buffer.from(recording?.bytes ?? []).equals(readFileSync(join(kept, file)))).toBe(true);
  const normal = readNormal(JSON.parse(given("normal.json")), "x");
  expect(normal).toMatchObject({ name: "Quarry lorry", temperature: { low: 20, high: 20 } });
  expect(normal.figures).toHaveLength(5);
});
