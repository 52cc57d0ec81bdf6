/** A case to practise on, as a file: what goes in comes out, nothing in it gives the fault away, what is none is refused. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { isCranksideError } from "../../shared/errors.ts";
import { caseText, knowsOf, readCase, type NewCase } from "../../src/sheet/practiceCase.ts";

const onBench: NewCase = {
  ...{ title: "Hisses", story: "It hisses at idle.", complaint: "idles unevenly" },
  hidden: {
    causes: ["air-leak-small", "air-leak-large"],
    bench: { vehicle: "garden-van", faults: [{ name: "unmetered-air", severity: 0.8 }] },
  },
  recording: null,
};

test("plain reading does not show the fault, nor its causes or vehicle; who opens it gets them back", () => {
  const written = caseText(onBench);
  for (const word of ["unmetered", "air-leak", "garden-van", "0.8"]) expect(written).not.toContain(word);
  expect(readCase(written, "x")).toEqual({
    ...onBench,
    knows: knowsOf(["air-leak-small", "air-leak-large"]),
  });
  expect(knowsOf(["air-leak-small"])).toBeGreaterThan(0);
});

test("any case with any recording comes back byte for byte, with what the one who knows spends", () => {
  const words = fc.string({ minLength: 1, maxLength: 80 });
  fc.assert(
    fc.property(
      fc.record({ title: words, story: words, complaint: fc.string({ maxLength: 80 }) }),
      fc.uint8Array({ maxLength: 400 }),
      fc.nat({ max: 5000 }),
      (told, bytes, knows) => {
        const made: NewCase = {
          ...{ ...told, knows, hidden: { causes: ["battery-worn"] } },
          recording: { file: "a.ndjson.gz", bytes: new Uint8Array(bytes) },
        };
        expect(readCase(caseText(made), "x")).toEqual(made);
      },
    ),
  );
});

const change = (change: object): string =>
  JSON.stringify({ ...(JSON.parse(caseText(onBench)) as object), ...change });

test.each([
  ["no JSON", "{", "case-invalid"],
  ["another form", '{"format":"crankside-cases","version":1}', "case-invalid"],
  ["a newer version", change({ version: 99 }), "newer-format"],
  ["no story", change({ story: "" }), "case-invalid"],
  ["hidden that is no base64", change({ hidden: "?" }), "case-invalid"],
  ["nothing hidden", change({ hidden: "e30=" }), "case-invalid"],
  ["both, a bench vehicle and a recording", change({ recording: { file: "a", bytes: "" } }), "case-invalid"],
] as const)("refused with its code: %s", (_, written, code) => {
  expect(() => readCase(written, "x.json")).toThrow(expect.objectContaining({ code }) as Error);
});

test("whatever a file holds, it is read or refused with a code", () => {
  fc.assert(
    fc.property(
      fc.oneof(
        fc.string(),
        fc.json(),
        fc.base64String().map((hidden) => change({ hidden })),
      ),
      (written) => {
        try {
          readCase(written, "x");
        } catch (error) {
          expect(isCranksideError(error)).toBe(true);
        }
      },
    ),
  );
});
