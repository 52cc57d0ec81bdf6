import fc from "fast-check";
import { expect, test } from "vitest";
import { isCranksideError } from "../../shared/errors.ts";
import { liveFrame, readLiveFrame } from "../../shared/liveFrame.ts";

test("file, offset and bytes travel unchanged", () => {
  fc.assert(
    fc.property(
      fc.string({ unit: "grapheme-ascii" }),
      fc.maxSafeNat(),
      fc.uint8Array(),
      (file, from, bytes) => {
        const read = readLiveFrame(liveFrame(file, from, bytes));
        expect([read.file, read.from, [...read.bytes]]).toEqual([file, from, [...bytes]]);
      },
    ),
  );
});

test("whatever else comes is refused or read, and throws nothing of its own", () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 40 }), (bytes) => {
      try {
        const { from } = readLiveFrame(new Uint8Array(bytes));
        expect(Number.isSafeInteger(from) && from >= 0).toBe(true);
      } catch (error) {
        expect(isCranksideError(error, "message-invalid")).toBe(true);
      }
    }),
  );
  for (const bytes of [[], [0, 0, 0], [0, 0, 0, 0, 0, 0, 0, 0, 0, 1]])
    expect(() => readLiveFrame(Uint8Array.from(bytes))).toThrow("not a frame");
});
