/** The note's vehicle: what the job says, what its recordings were read by, and what they tell beside. */
import { expect, test } from "vitest";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { sourceFrom, type Sources } from "../../src/sheet/tied.ts";
import { composeNote } from "../../src/sheet/note/compose.ts";
import { noteMarkdown } from "../../src/sheet/note/markdown.ts";
import { jobWith, readingOf, recordingItem } from "./support.ts";

function note(said: VehicleFacts, recorded: VehicleFacts, hide = false): string {
  const reading = readingOf(8, [{ t: 8100, k: "s", ch: "fuel-type", v: 4, u: "state" }]);
  const job = jobWith({ vehicle: said, recordings: { a: recordingItem } });
  const source = sourceFrom(reading, { ...recorded, ...said });
  const sources: Sources = { evidence: () => ({ state: "fits", source }), photo: () => null };
  const masking = { vin: hide, names: hide, plate: hide };
  return noteMarkdown(composeNote(job, sources, { ...options, masking }))
    .map(({ content }) => (typeof content === "string" ? content : ""))
    .join();
}

const options = {
  system: "metric",
  made: "2024-03-02T10:00:00.000+01:00",
  writer: "test",
  part: "all",
} as const;

test("facts of its recordings stand in the table, the job's own before them", () => {
  const text = note(
    { cylinders: 6 },
    { cylinders: 4, induction: "charged", throttled: false, supplyVolts: 24 },
  );
  expect(text).toMatch(/Cylinders.*6/);
  expect(text).toMatch(/Induction.*charged/);
  expect(text).toMatch(/Throttle plate controls the air.*no/);
  expect(text).toMatch(/Supply.*24 V/);
});

test("what nobody said and a recording tells is told with who tells it, and only until a person says it", () => {
  const text = note({}, {});
  expect(text).toContain("What its recordings tell of it beside");
  expect(text).toMatch(/Fuel: diesel, by its module/);
  expect(text).toMatch(/Supply: 12 V, by the readings/);
  expect(note({ fuel: "petrol", supplyVolts: 12 }, {})).not.toMatch(/Fuel: diesel, by|Supply: 12 V, by/);
});

test("whose vehicle it is comes from the job alone", () => {
  const vin = "11111111111111111";
  expect(note({}, { vin, name: "Somebody's van" }, true)).not.toMatch(/1{11}|Somebody/);
  expect(note({ vin }, {})).toContain("maker's area North America, model year 2001");
  expect(note({ vin }, {}, true)).not.toContain("model year");
});
