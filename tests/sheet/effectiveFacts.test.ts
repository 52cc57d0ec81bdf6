/** Complaint and vehicle: one owner each, and what is shown is what the interpreter is told. */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { JobFacts, VehicleFacts } from "../../shared/vehicle.ts";
import { effectiveFacts } from "../../src/sheet/effectiveFacts.ts";
import { newJob, type JobDocument } from "../../src/sheet/job.ts";
import { created, tie } from "./support.ts";

const vin = "0BVGV36V0S0000017";
const other = "0BVHB15H820000024";
const recorded: JobFacts = {
  complaint: "Told when it was recorded.",
  vehicle: { name: "Van", cylinders: 4, fuel: "petrol" },
};

function job(fields: Partial<JobDocument>): JobDocument {
  return { ...newJob("van", created), ...fields };
}
const onSheet = {
  recordings: { r: { order: 1, tie, started: created, from: "x", invented: true, caption: "" } },
};

test("without a job they are the recording's, and it takes what is corrected", () => {
  expect(effectiveFacts(recorded, null, tie.file)).toEqual({
    facts: recorded,
    from: { complaint: "recording", name: "recording", cylinders: "recording", fuel: "recording" },
    owner: "recording",
  });
  expect(effectiveFacts({}, null, tie.file)).toEqual({
    facts: { vehicle: {} },
    from: {},
    owner: "recording",
  });
});

test("the open job's go before them, fact by fact, and each says whose it is", () => {
  const own = job({ vehicle: { cylinders: 6 }, texts: { complaint: "Told to the mechanic." } });
  expect(effectiveFacts(recorded, own, tie.file)).toEqual({
    facts: { complaint: "Told to the mechanic.", vehicle: { name: "Van", cylinders: 6, fuel: "petrol" } },
    from: { complaint: "job", name: "recording", cylinders: "job", fuel: "recording" },
    owner: "job",
  });
});

test("what was wiped out in the job does not come back from the recording", () => {
  const own = job({ texts: { complaint: "" }, unsaid: { cylinders: true } });
  const { facts, from } = effectiveFacts(recorded, own, tie.file);
  expect(facts).toEqual({ vehicle: { name: "Van", fuel: "petrol" } });
  expect(from).toEqual({ name: "recording", fuel: "recording" });
});

test("a recording of another vehicle, by its VIN, is read by its own facts until it is put on the sheet", () => {
  const foreign: JobFacts = { vehicle: { ...recorded.vehicle, vin: other } };
  const own = job({ vehicle: { cylinders: 6, vin } });
  expect(effectiveFacts(foreign, own, tie.file)).toMatchObject({
    facts: { vehicle: { cylinders: 4, vin: other } },
    owner: "recording",
  });
  expect(effectiveFacts(foreign, { ...own, ...onSheet }, tie.file)).toMatchObject({
    facts: { vehicle: { cylinders: 6, vin } },
    owner: "job",
  });
  // A VIN with open signs tells nothing.
  const open: JobFacts = { vehicle: { vin: "0BVHB15H?20000023" } };
  expect(effectiveFacts(open, own, tie.file).owner).toBe("job");
});

const facts: fc.Arbitrary<VehicleFacts> = fc.record(
  {
    name: fc.string({ maxLength: 20 }),
    vin: fc.constantFrom(vin, other, "short"),
    cylinders: fc.integer({ min: 1, max: 16 }),
    fuel: fc.constantFrom("petrol" as const, "diesel" as const),
    ranges: fc.constant([{ of: "manifold", low: 1, high: 2, source: "x" }]),
  },
  { requiredKeys: [] },
);

test("every fact that is shown has just one owner, who said just that", () => {
  fc.assert(
    fc.property(facts, facts, fc.boolean(), (vehicle, own, on) => {
      const open = job({ vehicle: own, ...(on ? onSheet : {}) });
      const found = effectiveFacts({ vehicle }, open, tie.file);
      expect(Object.keys(found.from).sort()).toEqual(Object.keys(found.facts.vehicle).sort());
      for (const [name, owner] of Object.entries(found.from)) {
        const said = (owner === "job" ? own : vehicle) as Record<string, unknown>;
        expect((found.facts.vehicle as Record<string, unknown>)[name]).toEqual(said[name]);
      }
    }),
  );
});
