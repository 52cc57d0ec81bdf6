/** Hand checks by what a person types. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { findChecks } from "../../src/interpret/causes/find.ts";
import { checkNames } from "../../src/interpret/causes/rows.ts";

const names = (typed: string): string[] => findChecks(typed).map((c) => c.name);

test("by part of a name, by a code, by a symptom; nothing typed finds nothing", () => {
  expect(names("rela").some((n) => /relay/i.test(n))).toBe(true);
  expect(names("compression")[0]).toMatch(/compression/i);
  expect(names("P0335").some((n) => /crank/i.test(n))).toBe(true);
  expect(names("")).toEqual([]);
  expect(names("zzz")).toEqual([]);
});

test("each check is first, or among the first, by its own name, however it is written", () => {
  for (const [id, name] of checkNames)
    expect(
      findChecks(name.toUpperCase(), 5).map((c) => c.id),
      name,
    ).toContain(id);
});

test("more words never find more, and every one has to be met", () => {
  const word = fc.constantFrom("relay", "fuel", "pump", "P0171", "wiggled", "battery", "sensor");
  fc.assert(
    fc.property(word, word, (a, b) => {
      const both = new Set(findChecks(`${a} ${b}`, 999).map((c) => c.id));
      const one = new Set(findChecks(a, 999).map((c) => c.id));
      for (const id of both) expect(one.has(id)).toBe(true);
    }),
  );
});

test("a code finds first what tells most of its causes", () => {
  expect(findChecks("P0685")[0]?.id).toMatch(/^relay-/);
  expect(findChecks("p0335", 3).map(({ id }) => id)).toContain("crank-sensor");
});
