import fc from "fast-check";
import { expect, test } from "vitest";
import { ByteJoin } from "../../src/page/lib/join.ts";

const encoder = new TextEncoder();
const text = (bytes: Uint8Array | null): string | null =>
  bytes === null ? null : new TextDecoder("utf-8", { ignoreBOM: true }).decode(bytes);
const lines = fc
  .array(fc.string({ unit: "binary", maxLength: 12 }), { maxLength: 20 })
  .map((texts) => texts.map((text) => `${text.replaceAll("\n", "")}\n`).join(""));

test("pieces that overlap, repeat and come late join to the file", () => {
  fc.assert(
    fc.property(lines, fc.array(fc.tuple(fc.nat(), fc.nat()), { maxLength: 30 }), (all, cuts) => {
      const file = encoder.encode(all);
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
  expect(text(join.take(0, encoder.encode("a\nb\n")))).toBe("a\nb\n");
  expect(text(join.take(4, encoder.encode("d\n")))).toBe("d\n");
});

test("what was taken before is cut off a longer piece", () => {
  const join = new ByteJoin();
  join.take(0, encoder.encode("one\n"));
  expect(text(join.take(0, encoder.encode("one\ntwo\n")))).toBe("two\n");
  expect(text(join.take(2, encoder.encode("e\n")))).toBe("");
  expect(join.offset).toBe(8);
});
