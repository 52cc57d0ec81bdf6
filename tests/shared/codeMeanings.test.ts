import fc from "fast-check";
import { expect, test } from "vitest";
import { codeMeaning, codeRows } from "../../shared/codeMeanings.ts";
import { troubleCode } from "../../shared/codes.ts";

test("each row stands once, is a code that two bytes can carry, and names its source", () => {
  const all = new Set(Array.from({ length: 0x10000 }, (_, raw) => troubleCode(raw)));
  expect(new Set(codeRows.map(({ code }) => code)).size).toBe(codeRows.length);
  for (const { code, meaning, source } of codeRows) {
    expect(all.has(code)).toBe(true);
    expect(meaning.length).toBeGreaterThan(5);
    expect(source).toMatch(/SAE J2012/);
  }
});

// Meanings as the public list of service 03 examples and the standard's wording have them, paraphrased, from memory.
test.each([
  ["P0301", /misfire, cylinder 1$/],
  ["P0304", /misfire, cylinder 4$/],
  ["P0312", /misfire, cylinder 12$/],
  ["P0208", /injector circuit, cylinder 8$/],
  ["P0353", /ignition coil C /],
  ["P0171", /lean, bank 1/],
  ["P0335", /crankshaft position sensor A circuit/],
])("%s", (code, words) => {
  expect(codeMeaning(code)).toMatchObject({ by: "standard", known: true, system: "powertrain" });
  expect(codeMeaning(code).meaning).toMatch(words);
});

test.each([
  ["P1234", "maker", "powertrain"],
  ["P3100", "maker", "powertrain"],
  ["P3401", "standard", "powertrain"],
  ["P2299", "standard", "powertrain"],
  ["C1555", "maker", "chassis"],
  ["C0035", "standard", "chassis"],
  ["B2ABC", "maker", "body"],
  ["B3000", "unknown", "body"],
  ["U0100", "standard", "network"],
  ["U3000", "standard", "network"],
  ["U1000", "maker", "network"],
] as const)("%s is told by rule: %s, %s", (code, by, system) => {
  expect(codeMeaning(code)).toMatchObject({ by, system, known: false });
});

test("a maker's code is never given a meaning", () => {
  fc.assert(
    fc.property(fc.nat(0xffff), (raw) => {
      const told = codeMeaning(troubleCode(raw));
      if (told.by === "maker")
        expect(told).toMatchObject({
          known: false,
          meaning: expect.stringContaining("of the maker") as string,
        });
      expect(told.system).not.toBe("unknown");
    }),
  );
});

test("any text is taken", () => {
  fc.assert(fc.property(fc.string(), (text) => codeMeaning(text).code === text));
});
