/** What a folder is searched by: an index beside each recording and job, which can be lost at any time. */
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { beforeAll, expect, test } from "vitest";
import {
  keepNormal,
  learnFromFiles,
  normalsInUse,
  normalText,
  usedNormals,
  useNormal,
} from "../../src/recorder/normals.ts";
import { openRecording } from "../../src/recorder/open.ts";
import { Shelf } from "../../src/recorder/shelf/shelf.ts";
import { newJob, type JobDocument } from "../../src/sheet/job.ts";
import type { Normal } from "../../src/sheet/normal.ts";
import type { RecordingShelfEntry } from "../../src/sheet/shelf/entries.ts";
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
  expect(names).toEqual([job.id, "a.ndjson"]);
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

test("an index is judged by the own ranges that are used for the vehicle, as the page is, and made anew with others", async () => {
  const folder = made();
  const path = join(folder, "b.ndjson");
  const learned = await learnFromFiles([path, path, path], "Van");
  // Not as this van is: what it does is far from usual.
  const shifted = {
    ...learned,
    figures: learned.figures.map((f) => ({ ...f, level: f.level + 20 * f.spread, low: 0, high: 0 })),
  };
  const { id, normal } = keepNormal(folder, normalText(shifted), "van");
  const entryOf = (shelf: Shelf): RecordingShelfEntry | undefined =>
    shelf.all
      .map(({ entry }) => entry)
      .find((e) => e.kind === "recording" && e.started.startsWith("2024-05")) as
      RecordingShelfEntry | undefined;
  const pages = async (by?: Normal): Promise<unknown[]> => {
    const page = await openRecording(path);
    page.readBy({ normal: by });
    const { signs } = page.findings();
    return signs
      .filter(({ verdict }) => verdict === "outside" || verdict === "near")
      .map((s) => [s.id, s.verdict]);
  };
  const signs = (shelf: Shelf): unknown[] | undefined => entryOf(shelf)?.signs.map((s) => [s.id, s.verdict]);

  const { shelf } = await shelfAt(folder);
  expect(entryOf(shelf)?.normal).toBeUndefined();
  expect(signs(shelf)).toEqual(await pages());

  await useNormal(folder, { vehicle: "garden van", id });
  await shelf.refresh();
  const usual = entryOf(shelf);
  expect(usual?.normal).toMatch(new RegExp(`^${id} [0-9a-f]{16}$`));
  expect(signs(shelf)).toEqual(await pages(normal));
  expect(signs(shelf)).not.toEqual(await pages());
  // The other vehicle's stays as it was, and so does all where nothing changed: on the disk, too.
  expect((await shelfAt(folder)).made).toEqual([]);

  // A file that was changed by hand is another.
  const file = join(folder, "normal", `${id}.json`);
  writeFileSync(file, normalText(learned));
  expect((await shelfAt(folder)).made.sort()).toEqual(["a.ndjson", "b.ndjson"]);
  // Gone: the trade's ranges alone, as on the page.
  rmSync(file);
  const without = await shelfAt(folder);
  expect(entryOf(without.shelf)?.normal).toBeUndefined();
  expect(signs(without.shelf)).toEqual(await pages());
}, 120_000);

test("on a job's sheet a recording is of the job's vehicle, whatever it says itself", async () => {
  const folder = made();
  const path = join(folder, "a.ndjson");
  const { id } = keepNormal(folder, normalText(await learnFromFiles([path], "Other")), "other");
  await useNormal(folder, { vehicle: "other van", id });
  const write = (name: string): void => {
    const renamed = { ...job, vehicle: { name }, revision: name.length };
    writeFileSync(join(folder, "jobs", job.id, "job.json"), JSON.stringify(renamed));
  };
  write("Other van");
  const { shelf } = await shelfAt(folder);
  const normals = (): unknown[] =>
    shelf.all.flatMap(({ name, entry }) => (entry.kind === "recording" ? [[name, entry.normal]] : []));
  expect(normals()).toContainEqual(["a.ndjson", expect.stringMatching(/^other /)]);
  expect(normals()).toContainEqual(["b.ndjson", undefined]);
  write("Garden van again");
  await shelf.refresh();
  expect(normals()).toContainEqual(["a.ndjson", undefined]);
}, 120_000);

test("which is used is kept with all that a later version wrote of it, and a newer one's is left alone", async () => {
  const folder = tempFolder();
  expect(usedNormals(folder)).toBeNull();
  await expect(useNormal(folder, { vehicle: "van", id: "gone" })).rejects.toThrow(/./);
  await useNormal(folder, { vehicle: "van", id: null });
  expect(usedNormals(folder)).toEqual({});
  const file = join(folder, "normal", ".used.json");
  writeFileSync(file, '{"version":1,"used":{"van":"x"},"later":7}');
  await useNormal(folder, { vehicle: "hatch", id: null });
  expect(JSON.parse(readFileSync(file, "utf8"))).toEqual({ version: 1, used: { van: "x" }, later: 7 });
  expect(normalsInUse(folder).size).toBe(0);
  for (const spoiled of ["{", '{"used":7}']) {
    writeFileSync(file, spoiled);
    expect(usedNormals(folder)).toEqual({});
  }
  writeFileSync(file, '{"version":99,"used":{}}');
  await expect(useNormal(folder, { vehicle: "van", id: null })).rejects.toMatchObject({
    code: "newer-format",
  });
  expect(normalsInUse(folder).size).toBe(0);
  expect(readFileSync(file, "utf8")).toBe('{"version":99,"used":{}}');
});
