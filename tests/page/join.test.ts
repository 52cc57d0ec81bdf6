import fc from "fast-check";
import { expect, test } from "vitest";
import { ByteJoin } from "../../src/page/lib/recording/join.ts";

const encoder = new TextEncoder();
const lines = fc
  .array(fc.string({ unit: "binary", maxLength: 12 }), { maxLength: 20 })
  .map((texts) => texts.map((text) => `${text.replaceAll("\n", "")}\n`).join(""));

test("pieces that overlap, repeat and come late join to the file's bytes", () => {
  fc.assert(
    fc.property(lines, fc.array(fc.tuple(fc.nat(), fc.nat()), { maxLength: 30 }), (text, cuts) => {
      const file = encoder.encode(text);
      const join = new ByteJoin();
      const got: number[] = [];
      for (const [a, b] of [...cuts, [0, file.length] as const]) {
        const from = file.length === 0 ? 0 : Math.min(a % (file.length + 1), file.length);
        const piece = file.subarray(from, Math.max(from, Math.min(file.length, b % (file.length + 1))));
        const before = join.offset;
        const fresh = join.take(from, piece);
        if (fresh === null) {
          expect(from).toBeGreaterThan(before);
          expect(join.offset).toBe(before);
        } else got.push(...fresh);
      }
      got.push(...(join.take(0, file) ?? []));
      expect(join.offset).toBe(file.length);
      expect(got).toEqual([...file]);
    }),
  );
});

test("a hole takes nothing, and what fills it makes the later piece fit", () => {
  const join = new ByteJoin();
  expect(join.take(4, encoder.encode("d\n"))).toBeNull();
  expect(join.take(0, encoder.encode("a\nb\n"))).toEqual(encoder.encode("a\nb\n"));
  expect(join.take(4, encoder.encode("d\n"))).toEqual(encoder.encode("d\n"));
});

test("what was taken before is cut off a longer piece", () => {
  const join = new ByteJoin();
  join.take(0, encoder.encode("one\n"));
  expect(join.take(0, encoder.encode("one\ntwo\n"))).toEqual(encoder.encode("two\n"));
  expect(join.take(2, encoder.encode("e\n"))).toHaveLength(0);
  expect(join.offset).toBe(8);
});
