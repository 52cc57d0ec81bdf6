/** What a folder is searched by: an index beside each recording and job, which can be lost at any time. */
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { beforeAll, expect, test } from "vitest";
import { Shelf } from "../../src/recorder/shelf/shelf.ts";
import { newJob, type JobDocument } from "../../src/sheet/job.ts";
import { lineOf, search, wordsOf, type Query, type Searchable } from "../../src/sheet/shelf/search.ts";
import { benchRecording } from "../support/benchRecording.ts";
import { tempFolder } from "./support.ts";

const texts: Record<string, string> = {};

beforeAll(async () => {
  const run = async (name: string, fault: string | null, when: string, facts: object): Promise<void> => {
    const text = await benchRecording({
      ...{
        vehicle: "garden-van",
        script: fault === null ? "start-and-idle" : "crank-only",
        seed: 5,
        survey: true,
      },
      faults: fault === null ? [] : [{ name: fault, severity: 1 }],
    });
    texts[name] = text
      .replace('"started":"2024-01-01T00:00:00.000Z"', `"started":"${when}"`)
      .replace('"vehicle":{}', `"vehicle":${JSON.stringify(facts)}`);
  };
  await run("a.ndjson", "no-crank-signal", "2024-03-02T09:00:00.000+01:00", {
    name: "Garden van",
    cylinders: 6,
  });
  await run("b.ndjson", null, "2024-05-06T09:00:00.000+01:00", { name: "Garden van", cylinders: 6 });
  await run("c.ndjson", "relay-open", "2023-11-20T09:00:00.000+01:00", { vin: "1M8GDM9AXKP042788" });
}, 120_000);

const job: JobDocument = {
  ...newJob("2024-03-02-garden-van", "2024-03-02T08:50:00.000+01:00"),
  vehicle: { name: "Garden van" },
  who: { mechanic: "Jo", customer: "Mary Baker", plate: "AB-123" },
  texts: { complaint: "It turns over and does not start.", conclusion: "Water in the plug behind the wing." },
  recordings: {
    r: {
      ...{ order: 0, started: "2024-03-02T09:00:00.000+01:00", from: "bench", invented: true, caption: "" },
      tie: { file: "a.ndjson", bytes: 1, sha256: "0".repeat(64) },
    },
  },
  causes: {
    c: { order: 0, cause: "no-crank-signal", name: "Crank sensor", standing: "proved", proof: "swapped" },
  },
};

function made(): string {
  const folder = tempFolder();
  for (const [name, text] of Object.entries(texts)) writeFileSync(join(folder, name), text);
  mkdirSync(join(folder, "jobs", job.id), { recursive: true });
  writeFileSync(join(folder, "jobs", job.id, "job.json"), JSON.stringify(job));
  return folder;
}

async function shelfAt(folder: string): Promise<{ shelf: Shelf; made: string[] }> {
  const shelf = new Shelf(folder);
  const names: string[] = [];
  await shelf.refresh({ onProgress: (_made, _all, source) => names.push(source) });
  return { shelf, made: names };
}

const found = (shelf: Shelf, query: Partial<Query>): string[] =>
  search(shelf.all, { words: [], ...query }).map((one) => one.name);

test("found by words, vehicle, code, sign and day; the newest first", async () => {
  const { shelf } = await shelfAt(made());
  expect(shelf.problems).toEqual([]);
  expect(found(shelf, {})).toEqual(["b.ndjson", "a.ndjson", job.id, "c.ndjson"]);
  expect(found(shelf, { vehicle: "garden" })).toEqual(["b.ndjson", "a.ndjson", job.id]);
  expect(found(shelf, { vehicle: "042788" })).toEqual(["c.ndjson"]);
  // A job has the signs of its recordings.
  expect(found(shelf, { sign: "crank.no-speed" })).toEqual(["a.ndjson", job.id]);
  expect(found(shelf, { sign: "crank.", since: "2024-03" })).toEqual(["a.ndjson", job.id]);
  expect(found(shelf, { since: "2024-03-02" })).toEqual(["b.ndjson", "a.ndjson", job.id]);
  expect(found(shelf, { since: "2024-03-03" })).toEqual(["b.ndjson"]);
  expect(found(shelf, { words: ["BAKER", "wing"] })).toEqual([job.id]);
  expect(found(shelf, { words: ["ab-123"] })).toEqual([job.id]);
  expect(found(shelf, { words: ["crank sensor"] })).toContain(job.id);
  expect(found(shelf, { words: ["baker", "fuel"] })).toEqual([]);
  expect(found(shelf, { code: "P9" })).toEqual([]);
  const [b, a, j] = search(shelf.all, { words: [] });
  expect(a?.entry).toMatchObject({ kind: "recording", sound: false, complaints: ["no-start"] });
  expect(b?.entry).toMatchObject({ kind: "recording", sound: true });
  expect(lineOf(a as Searchable)).toMatch(/^Garden van · .*No crank speed|Garden van · /);
  expect(lineOf(j as Searchable)).toContain("Crank sensor: proved");
});

test("made once, beside what it is about; not asked again while that is as it was", async () => {
  const folder = made();
  expect((await shelfAt(folder)).made).toHaveLength(4);
  const index = join(folder, ".shelf", "a.ndjson.json");
  expect(existsSync(join(folder, "jobs", ".shelf", `${job.id}.json`))).toBe(true);
  // What stands in it is what is found: it is read and not worked out again.
  writeFileSync(index, readFileSync(index, "utf8").replace('"complaint":""', '"complaint":"zebra"'));
  const again = await shelfAt(folder);
  expect(again.made).toEqual([]);
  expect(found(again.shelf, { words: ["zebra"] })).toEqual(["a.ndjson"]);
});

test.each([
  ["deleted", (index: string) => rmSync(index)],
  ["cut short", (index: string) => writeFileSync(index, readFileSync(index, "utf8").slice(0, 90))],
  [
    "of another version",
    (index: string) =>
      writeFileSync(index, readFileSync(index, "utf8").replace('"version":1', '"version":0')),
  ],
  [
    "of another shape",
    (index: string) => writeFileSync(index, readFileSync(index, "utf8").replace('"codes":[', '"codes":[7,')),
  ],
])("an index that is %s is made again", async (_what, harm) => {
  const folder = made();
  await shelfAt(folder);
  const index = join(folder, ".shelf", "a.ndjson.json");
  const before = readFileSync(index, "utf8");
  harm(index);
  expect((await shelfAt(folder)).made).toEqual(["a.ndjson"]);
  expect(readFileSync(index, "utf8")).toBe(before);
});

test("what changed is looked at again, what is gone is forgotten with its index", async () => {
  const folder = made();
  const { shelf } = await shelfAt(folder);
  writeFileSync(
    join(folder, "jobs", job.id, "job.json"),
    JSON.stringify({ ...job, texts: { ...job.texts, done: "New plug, greased." } }),
  );
  utimesSync(join(folder, "a.ndjson"), new Date(9000), new Date(9000));
  rmSync(join(folder, "c.ndjson"));
  const names: string[] = [];
  await shelf.refresh({ onProgress: (_made, _all, source) => names.push(source) });
  expect(names).toEqual(["a.ndjson", job.id]);
  expect(found(shelf, { words: ["greased"] })).toEqual([job.id]);
  expect(found(shelf, {})).not.toContain("c.ndjson");
  expect(readdirSync(join(folder, ".shelf"))).toEqual(["a.ndjson.json", "b.ndjson.json"]);
});

test("the recording itself is not touched, and what cannot be read is told", async () => {
  const folder = made();
  writeFileSync(join(folder, "broken.ndjson"), "not a recording\n");
  const { shelf } = await shelfAt(folder);
  expect(shelf.problems.map((p) => p.source)).toEqual([join(folder, "broken.ndjson")]);
  for (const [name, text] of Object.entries(texts))
    expect(readFileSync(join(folder, name), "utf8")).toBe(text);
});

test("broken off, it goes on where it was", async () => {
  const folder = made();
  let asked = 0;
  await new Shelf(folder).refresh({ stopped: () => ++asked > 1 });
  expect((await shelfAt(folder)).made).toHaveLength(3);
});

test("every word must be there, wherever it stands; quotes hold words together", async () => {
  const { shelf } = await shelfAt(made());
  expect(wordsOf('turns "does not" start')).toEqual(["turns", "does not", "start"]);
  fc.assert(
    fc.property(
      fc.array(fc.constantFrom("garden", "baker", "P0335", "start", "van", "zebra", "in the")),
      (words) => {
        const fits = search(shelf.all, { words });
        for (const one of shelf.all)
          expect(fits.includes(one)).toBe(words.every((word) => one.text.includes(word.toLowerCase())));
      },
    ),
  );
  fc.assert(fc.property(fc.string(), (text) => void search(shelf.all, { words: wordsOf(text) })));
});
