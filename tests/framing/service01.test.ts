import fc from "fast-check";
import { expect, test } from "vitest";
import { splitService01 } from "../../adapters/framing/index.ts";
import { parameters } from "../../shared/parameters.ts";
import { bytes, hexOf } from "./helpers.ts";

function split(hex: string, asked?: readonly number[]): { parts: string[]; leftover: string } {
  const result = splitService01(bytes(hex), asked);
  expect(result.problem === null).toBe(result.leftover.length === 0);
  return {
    parts: result.parts.map(({ pid, data }) => `${hexOf(Uint8Array.of(pid))}:${hexOf(data)}`),
    leftover: hexOf(result.leftover),
  };
}

test("six parameters of one CAN reply", () => {
  // 1 + 3 + 5 * 2 = 14 bytes, as the arithmetic of a six-parameter request has it.
  expect(split("41 0C 1A F8 0D 20 05 7B 0B 64 0F 32 11 26")).toEqual({
    parts: ["0C:1AF8", "0D:20", "05:7B", "0B:64", "0F:32", "11:26"],
    leftover: "",
  });
});

test("a parameter whose length is not known ends the cutting, and the rest is reported", () => {
  expect(split("41 0D 20 B1 01 02")).toEqual({ parts: ["0D:20"], leftover: "B10102" });
  expect(split("41 0D 20 0C 1A")).toEqual({ parts: ["0D:20"], leftover: "0C1A" });
  expect(split("43 01 33")).toEqual({ parts: [], leftover: "430133" });
  expect(splitService01(new Uint8Array(0)).parts).toEqual([]);
});

test("a single asked parameter owns all bytes, whatever the table thinks of its length", () => {
  expect(split("41 68 07 40 41", [0x68])).toEqual({ parts: ["68:074041"], leftover: "" });
  expect(split("41 B1 01 02", [0xb1])).toEqual({ parts: ["B1:0102"], leftover: "" });
});

test("trims with a second byte for banks 3 and 4 (layout from memory)", () => {
  expect(split("41 06 80 82")).toEqual({ parts: ["06:8082"], leftover: "" });
  expect(split("41 06 80 82 07 7F 80 0C 1A F8")).toEqual({
    parts: ["06:8082", "07:7F80", "0C:1AF8"],
    leftover: "",
  });
  expect(split("41 06 80 07 82")).toEqual({ parts: ["06:80", "07:82"], leftover: "" });
});

test("a parameter that was not asked stops the cutting", () => {
  expect(split("41 0C 1A F8 0D 20", [0x0c, 0x05])).toEqual({ parts: ["0C:1AF8"], leftover: "0D20" });
});

test("any parameters of the table come apart as they were put together", () => {
  fc.assert(
    fc.property(
      fc.uniqueArray(fc.constantFrom(...parameters), { minLength: 1, maxLength: 6, selector: (p) => p.pid }),
      fc.uint8Array({ minLength: 60, maxLength: 60 }),
      (rows, random) => {
        let at = 0;
        const wanted = rows.map((row) => ({
          pid: row.pid,
          data: random.slice(at, (at += row.bytes)),
        }));
        const reply = Uint8Array.from([0x41, ...wanted.flatMap(({ pid, data }) => [pid, ...data])]);
        const { parts, leftover } = splitService01(
          reply,
          rows.map((row) => row.pid),
        );
        expect(leftover.length).toBe(0);
        expect(parts).toEqual(wanted);
      },
    ),
  );
});

test("every byte is in a part or in the leftovers", () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 40 }), fc.boolean(), (random, as41) => {
      const data = as41 ? Uint8Array.from([0x41, ...random]) : random;
      const { parts, leftover } = splitService01(data);
      const taken = parts.reduce((sum, part) => sum + 1 + part.data.length, 0);
      expect(taken + leftover.length).toBe(data[0] === 0x41 ? data.length - 1 : data.length);
    }),
  );
});
