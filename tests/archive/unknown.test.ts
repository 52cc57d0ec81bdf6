/** Fields that this version does not know survive a read and a write of a job at every level. */
import { mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { afterAll, expect, test } from "vitest";
import { applyChanges } from "../../src/sheet/change.ts";
import { jobText, readJob } from "../../src/sheet/job.ts";
import { leavingJob } from "../../src/sheet/mask.ts";
import { saysOf, wordsOf } from "../../src/sheet/snapshot.ts";
import { statementOf } from "../../src/sheet/statement.ts";
import { tempFolder } from "../support/program.ts";
import { archivedJson, fullJob, keptIn, lost, type Json } from "./support.ts";

const folder = tempFolder();
afterAll(() => folder.remove());
const raw = archivedJson(`kept/jobs/${fullJob}/job.json`) as { [name: string]: Json };

interface Place {
  readonly path: readonly (string | number)[];
}

/** Every object in it, itself the first. Lists by id and by part hold items alone: they are no place for a field. */
const itemLists = new Set([
  "cautions",
  "recordings",
  "clips",
  "photos",
  "entries",
  "checks",
  "causes",
  "log",
]);
function objectsIn(value: Json, path: readonly (string | number)[] = []): Place[] {
  if (Array.isArray(value)) return value.flatMap((one, i) => objectsIn(one, [...path, i]));
  if (typeof value !== "object" || value === null) return [];
  const list =
    path.length === 1 && (itemLists.has(String(path[0])) || path[0] === "texts" || path[0] === "leftOut");
  return [
    ...(list ? [] : [{ path }]),
    ...Object.entries(value).flatMap(([name, one]) => objectsIn(one, [...path, name])),
  ];
}

const places = objectsIn(raw);
const kindOf = ({ path }: Place): string =>
  path
    .map((step, i) =>
      typeof step === "number" ? "[]" : i === 1 && itemLists.has(String(path[0])) ? "*" : step,
    )
    .join(".");
/** By kind, so that rare ones are tried as often as frequent ones: ids and places in lists do not count. */
const kinds = [...new Set(places.map(kindOf))].map((kind) =>
  places.filter((place) => kindOf(place) === kind),
);

const unknown = fc
  .tuple(
    fc.constantFrom(...kinds).chain((same) => fc.constantFrom(...same)),
    fc.jsonValue({ maxDepth: 3 }),
  )
  .map(([place, value]) => ({ ...place, value: value as Json }));
const name = "ofALaterVersion";

function withFields(fields: readonly { readonly path: Place["path"]; readonly value: Json }[]): {
  [name: string]: Json;
} {
  const copy = structuredClone(raw);
  for (const { path, value } of fields) {
    let at: Json = copy;
    for (const step of path) at = (at as Record<string | number, Json>)[step] as Json;
    (at as { [name: string]: Json })[name] = JSON.parse(JSON.stringify(value)) as Json;
  }
  return copy;
}

test("objects at every level are tried", () => {
  expect(places.length).toBeGreaterThan(900);
  expect(kinds.length).toBeGreaterThan(60);
  expect(Math.max(...places.map((place) => place.path.length))).toBeGreaterThan(5);
});

test("0 fields are lost when a job with unknown fields at every level is read, changed and written", () => {
  fc.assert(
    fc.property(fc.array(unknown, { minLength: 1, maxLength: 40 }), (fields) => {
      const stored = withFields(fields);
      const job = readJob(JSON.stringify(stored), "x");
      expect(lost(stored, JSON.parse(jobText(job)))).toEqual([]);
      const change = { path: ["archived"], before: false, after: true };
      const saved: unknown = JSON.parse(jobText(applyChanges(job, [change], "2024-03-03T09:00:00Z").job));
      expect(lost(stored, saved)).toEqual([".revision", ".changed", ".archived"]);
      for (const entry of Object.values(job.entries)) expect(statementOf(entry, "us").title).not.toBe("");
    }),
    { numRuns: 150 },
  );
});

test("one in every object at once: on the disk, through the store and out in a bundle, 0 are lost", async () => {
  const stored = withFields(places.map((place) => ({ ...place, value: { deep: [1, null, "ü"] } })));
  const own = mkdtempSync(join(folder.path, "all-"));
  const kept = keptIn(own);
  const path = join(own, "jobs", fullJob, "job.json");
  writeFileSync(path, JSON.stringify(stored));
  await kept.change(fullJob, [{ path: ["archived"], before: false, after: true }]);
  const saved: unknown = JSON.parse(readFileSync(path, "utf8"));
  expect(lost(stored, saved)).toEqual([".revision", ".changed", ".archived"]);
  const leaving: unknown = JSON.parse(
    JSON.stringify(leavingJob(await kept.read(fullJob), { vin: false, names: false, plate: false })),
  );
  expect(lost(saved, leaving)).toEqual([]);
});

test("parts and ids of a later version are kept: a text of another part, a complaint that is not known here", () => {
  const { texts, advice } = raw as Record<string, { [name: string]: Json }>;
  const stored = {
    ...raw,
    texts: { ...texts, "of-a-later-version": "In my words." },
    advice: { ...advice, complaints: ["hums", "rough"] },
  };
  const job = readJob(JSON.stringify(stored), "x");
  expect(lost(stored, JSON.parse(jobText(job)))).toEqual([]);
});

test.each([
  [
    "advice of another version",
    (says: object) => ({ ...says, advice: { ...get(says, "advice"), version: 7 } }),
    true,
  ],
  [
    "advice without what this version needs",
    (says: object) => ({ ...says, advice: { version: 7, words: "First the pump." } }),
    false,
  ],
  [
    "a kind of statement that is not known",
    () => ({ kind: "oscillogram", words: "It rings at 4 kHz.", trace: [1, 2] }),
    false,
  ],
])(
  "%s does not cost the job: it opens, is shown in words, and is written as it was",
  (_what, change, laidOut) => {
    const stored = structuredClone(raw) as { entries: Record<string, { says: object }> };
    const entry = stored.entries["advice"];
    if (entry === undefined) throw new Error("no advice in the archive");
    entry.says = change(entry.says);
    const job = readJob(JSON.stringify(stored), "x");
    expect(lost(stored, JSON.parse(jobText(job)))).toEqual([]);
    const read = job.entries["advice"];
    if (read === undefined) throw new Error("the entry is gone");
    expect(saysOf(read.says) !== null).toBe(laidOut);
    const said = statementOf(read, "metric");
    expect(said.title).not.toBe("");
    if (!laidOut) expect(said.figures.join(" ")).toMatch(/First the pump\.|It rings at 4 kHz\./);
  },
);

test("the words that were kept with a statement stand when its figures cannot be laid out any more", () => {
  const words = { title: "T", verdict: "", generated: "G", figures: ["F"], notes: [], cautions: [] };
  const entry = { says: { kind: "gone" }, said: { metric: words, us: { ...words, figures: ["F in US"] } } };
  expect(wordsOf(entry, "us").figures).toEqual(["F in US"]);
  expect(statementOf(entry, "metric")).toMatchObject(words);
});

function get(value: object, field: string): object {
  return (value as Record<string, object>)[field] ?? {};
}
