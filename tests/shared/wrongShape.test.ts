import fc from "fast-check";
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { wrongShape } from "../../shared/wrongShape.ts";

function told(schema: z.ZodMiniType, value: unknown): string {
  const { error } = schema.safeParse(value);
  const { expected, found, where } = wrongShape(error?.issues ?? [], value, "all of it");
  return `${expected} | ${found} | ${where}`;
}

test.each<[string, z.ZodMiniType, unknown, string]>([
  ["a missing field", z.object({ name: z.string() }), {}, "a text | nothing | name"],
  ["another type, deep", z.object({ a: z.array(z.int()) }), { a: [1, 1.5] }, "a whole number | 1.5 | a.1"],
  ["none of a list", z.object({ a: z.enum(["x", "y"]) }), { a: 3 }, "one of x, y | 3 | a"],
  [
    "a field too many",
    z.strictObject({ a: z.string() }),
    { a: "", b: 1 },
    "only fields that are known there | b | the top",
  ],
  ["too long", z.string().check(z.maxLength(3)), "long", 'at most 3 characters | "long" | the top'],
  ["too few", z.array(z.string()).check(z.minLength(1)), [], "at least 1 entry | [] | the top"],
  ["too large", z.number().check(z.lte(4)), 9, "at most 4 | 9 | the top"],
  [
    "an unknown kind",
    z.discriminatedUnion("k", [z.object({ k: z.literal("a") })]),
    { k: "b" },
    'a | "b" | k',
  ],
  ["either of two", z.union([z.string(), z.number()]), true, "a text, or a number | true | the top"],
  ["another version", z.object({ version: z.literal(1) }), { version: 2 }, "1 | 2 | version"],
])("%s", (_, schema, value, words) => {
  expect(told(schema, value)).toBe(words);
});

test("whatever comes, the words say what was expected and found, and never the library's own", () => {
  const schema = z.strictObject({
    name: z.string().check(z.maxLength(4), z.regex(/^a/)),
    of: z.optional(z.union([z.object({ k: z.literal("x"), n: z.number() }), z.array(z.string())])),
  });
  fc.assert(
    fc.property(
      fc.record({ name: fc.anything(), of: fc.anything(), more: fc.anything() }, { requiredKeys: [] }),
      (value) => {
        if (schema.safeParse(value).success) return;
        const words = told(schema, value);
        expect(words).not.toContain("Invalid input");
        expect(words.split(" | ").every((part) => part !== "")).toBe(true);
      },
    ),
  );
});
