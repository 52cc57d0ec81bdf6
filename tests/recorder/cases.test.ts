/** Cases out of jobs: only what was proved; and the file for others tells nobody. */
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { allCases, localCases, takeCases } from "../../src/recorder/shelf/cases.ts";
import { Shelf } from "../../src/recorder/shelf/shelf.ts";
import { newJob, type JobDocument } from "../../src/sheet/job.ts";
import { casesFile, readCases } from "../../src/sheet/shelf/cases.ts";
import { tempFolder } from "./support.ts";

function job(
  n: number,
  standing: "proved" | "shown" | "suspected",
  parts: Partial<JobDocument> = {},
): JobDocument {
  return {
    ...newJob(`2024-03-0${n}-bakers-van`, `2024-03-0${n}T08:50:00.123+01:00`),
    vehicle: { name: "Baker's van", vin: "1M8GDM9AXKP042788", cylinders: 6 },
    who: { mechanic: "Jo Smith", customer: "Mary Baker", plate: "AB-123" },
    texts: { complaint: "It does not start." },
    causes: { c: { order: 0, cause: "relay-open", name: "Relay", standing, proof: "swapped for Mary" } },
    ...parts,
  };
}

async function shelfWith(jobs: readonly JobDocument[]): Promise<Shelf> {
  const folder = tempFolder();
  for (const one of jobs) {
    mkdirSync(join(folder, "jobs", one.id), { recursive: true });
    writeFileSync(join(folder, "jobs", one.id, "job.json"), JSON.stringify(one));
  }
  const shelf = new Shelf(folder);
  await shelf.refresh();
  return shelf;
}

test("a job with a proved cause is a case; one that guessed is none", async () => {
  const shelf = await shelfWith([
    job(1, "proved"),
    job(2, "shown"),
    job(3, "suspected"),
    job(4, "proved", {
      causes: { c: { order: 0, cause: null, name: "Mice", standing: "proved", proof: "seen" } },
    }),
  ]);
  expect(localCases(shelf)).toMatchObject([
    { job: "2024-03-01-bakers-van", complaints: ["no-start"], cause: "relay-open", cylinders: 6 },
  ]);
});

test("the file for others has no name, day, VIN or plate, and counts once wherever it is taken in", async () => {
  const shelf = await shelfWith([job(1, "proved"), job(2, "proved")]);
  const text = casesFile(localCases(shelf));
  expect(text).not.toMatch(/baker|mary|smith|AB.?123|042788|2024|03-0/i);
  const path = join(tempFolder(), "from a friend.json");
  writeFileSync(path, text);
  const other = await shelfWith([job(3, "proved")]);
  expect(takeCases(other.folder, path)).toBe(2);
  expect(allCases(other).cases).toHaveLength(3);
  expect(takeCases(shelf.folder, path)).toBe(2);
  expect(allCases(shelf).cases).toHaveLength(2);
  expect(readFileSync(join(other.folder, "cases", "from-a-friend.json"), "utf8")).toBe(text);
});

test("what is no file of cases is refused, and one that lies there is told and left out", async () => {
  const code = (text: string): unknown => {
    try {
      return readCases(text, "x.json");
    } catch (error) {
      return (error as { code?: string }).code;
    }
  };
  expect(code("{")).toBe("cases-invalid");
  expect(code('{"format":"crankside-cases","version":1,"cases":[{"id":"Mary Baker"}]}')).toBe(
    "cases-invalid",
  );
  expect(code('{"format":"crankside-cases","version":99,"cases":[]}')).toBe("newer-format");
  const shelf = await shelfWith([job(1, "proved")]);
  mkdirSync(join(shelf.folder, "cases"));
  writeFileSync(join(shelf.folder, "cases", "odd.json"), "{}");
  expect(allCases(shelf)).toMatchObject({ cases: [{ cause: "relay-open" }], problems: [{}] });
});
