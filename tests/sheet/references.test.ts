/** Which recordings are offered to be laid under another: sound, of the same kind, about as warm, and never itself. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { Searchable } from "../../src/sheet/shelf/search.ts";
import { recordingEntrySchema, type RecordingShelfEntry } from "../../src/sheet/shelf/entries.ts";
import {
  coolantApart,
  groupWords,
  likeness,
  referencesFor,
  type LookedAt,
} from "../../src/sheet/shelf/references.ts";

const engine = { cylinders: 6, displacementL: 3, fuel: "petrol" };

function entry(change: Partial<RecordingShelfEntry> = {}): RecordingShelfEntry {
  return recordingEntrySchema.parse({
    ...{ version: 1, kind: "recording", stamp: "", started: "2024-03-02T09:00:00+01:00", invented: false },
    ...{
      vehicle: { name: "", vin: "", ...engine },
      complaint: "",
      complaints: [],
      lengthMs: 1,
      happened: "",
    },
    ...{ codes: [], signs: [], causes: [], marks: [], sound: true, coolant: 20 },
    ...change,
  });
}
const shelf = (entries: Readonly<Record<string, Partial<RecordingShelfEntry>>>): Searchable[] =>
  Object.entries(entries).map(([name, change]) => new Searchable({ name, entry: entry(change) }));
const looked: LookedAt = {
  file: "here.ndjson",
  vehicle: { name: "Garden van", vin: "", ...engine },
  coolant: 20,
  invented: false,
};
const files = (entries: Parameters<typeof shelf>[0], of: Partial<LookedAt> = {}): string[] =>
  referencesFor(shelf(entries), { ...looked, ...of }).map((r) => r.file);

test("the same vehicle first, then the same engine; the nearest in temperature, then the newest", () => {
  expect(
    files({
      "here.ndjson": {},
      "old.ndjson": { coolant: 22 },
      "new.ndjson": { coolant: 18, started: "2024-05-02T09:00:00+01:00" },
      "near.ndjson": { coolant: 21 },
      "own.ndjson": { vehicle: { name: "garden VAN", vin: "" }, coolant: 29 },
      "unknown.ndjson": { coolant: null },
    }),
  ).toEqual(["own.ndjson", "near.ndjson", "new.ndjson", "old.ndjson", "unknown.ndjson"]);
});

test.each([
  ["a fault in it", { sound: false }],
  ["too warm", { coolant: 20 + coolantApart + 1 }],
  ["invented beside a real one", { invented: true }],
  ["another number of cylinders", { vehicle: { name: "", vin: "", ...engine, cylinders: 4 } }],
  ["another displacement", { vehicle: { name: "", vin: "", ...engine, displacementL: 3.2 } }],
  ["another fuel", { vehicle: { name: "", vin: "", ...engine, fuel: "diesel" } }],
  ["an engine of which nobody said anything", { vehicle: { name: "", vin: "" } }],
] as const)("not offered: %s", (_, change) => {
  expect(files({ "there.ndjson": {} })).toEqual(["there.ndjson"]);
  expect(files({ "there.ndjson": change })).toEqual([]);
});

test("two VINs tell more than one name; a name alone does where a VIN is missing", () => {
  const named = (vin: string): LookedAt["vehicle"] => ({ name: "Van", vin });
  expect(likeness(named("A1"), named("a1 "))).toBe("vehicle");
  expect(likeness(named("A1"), named("B2"))).toBeNull();
  expect(likeness(named("A1"), named(""))).toBe("vehicle");
  expect(likeness({ name: "", vin: "" }, { name: "", vin: "" })).toBeNull();
});

test("in words", () => {
  const group = referencesFor(shelf({ a: {}, b: { coolant: 24 }, c: {}, d: {} }), looked);
  expect(groupWords(group)).toBe("4 good, same engine, 20 °C to 24 °C");
  expect(groupWords(group.slice(0, 1))).toBe("1 good, same engine, 20 °C");
  expect(groupWords(referencesFor(shelf({ a: { coolant: null } }), looked))).toContain("temperature unknown");
});

test("whatever lies on the shelf, what is offered is sound, alike, no warmer or colder than allowed, and each once", () => {
  const some = fc.record({
    sound: fc.boolean(),
    coolant: fc.option(fc.integer({ min: -20, max: 110 }), { nil: null }),
    cylinders: fc.constantFrom(4, 6),
    name: fc.constantFrom("", "Garden van", "Other"),
  });
  fc.assert(
    fc.property(fc.array(some, { maxLength: 60 }), (all) => {
      const on = all.map(
        ({ sound, coolant, cylinders, name }, i) =>
          new Searchable({
            name: `${i}.ndjson`,
            entry: entry({ sound, coolant, vehicle: { ...engine, name, vin: "", cylinders } }),
          }),
      );
      const found = referencesFor(on, looked);
      expect(new Set(found.map((r) => r.file)).size).toBe(found.length);
      for (const { file, coolant } of found) {
        const one = all[Number.parseInt(file, 10)];
        expect(one?.sound).toBe(true);
        expect(one?.cylinders === 6 || one?.name === "Garden van").toBe(true);
        expect(coolant === null || Math.abs(coolant - 20) <= coolantApart).toBe(true);
      }
      const fits = all.filter(
        (one) =>
          one.sound &&
          (one.cylinders === 6 || one.name === "Garden van") &&
          (one.coolant === null || Math.abs(one.coolant - 20) <= coolantApart),
      );
      expect(found.length).toBe(Math.min(24, fits.length));
    }),
  );
});
