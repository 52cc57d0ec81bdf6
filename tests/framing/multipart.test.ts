import fc from "fast-check";
import { expect, test } from "vitest";
import { joinMultipart, readReply } from "../../adapters/framing/index.ts";
import { reasonsOf, short } from "./helpers.ts";

/**
 * A VIN in five messages of four bytes behind three zero bytes, SAE J1979 layout from memory; VIN of Wikipedia's
 * check digit example; sums and CRCs worked out by hand.
 */
const onIso9141 = [
  "48 6B 10 49 02 01 00 00 00 31 40",
  "48 6B 10 49 02 02 4D 38 47 44 20",
  "48 6B 10 49 02 03 4D 39 41 58 30",
  "48 6B 10 49 02 04 4B 50 30 34 11",
  "48 6B 10 49 02 05 32 37 38 38 EC",
];
const onVpw = ["69", "0B", "0A", "D4", "58"].map((crc, i) => (onIso9141[i] ?? "").slice(0, -2) + crc);
const joined = "10 490201000000314D3847444D3941584B50303432373838";

test("five messages become one, with the number of items in place of theirs", () => {
  expect(short(joinMultipart(readReply(onIso9141, "iso9141")))).toEqual([joined]);
  expect(short(joinMultipart(readReply(onVpw, "vpw")))).toEqual([joined]);
  expect(joinMultipart(readReply(onVpw, "vpw"))[0]?.lines).toEqual(onVpw);
});

test("their order does not matter, nor does one that came twice", () => {
  fc.assert(
    fc.property(
      fc.shuffledSubarray(onIso9141, { minLength: 5, maxLength: 5 }),
      fc.nat({ max: 4 }),
      (lines, again) => {
        const pieces = joinMultipart(readReply([...lines, onIso9141[again] ?? ""], "iso9141"));
        expect(short(pieces)).toEqual([joined]);
      },
    ),
  );
});

test("a missing part discards the whole, with the reason", () => {
  const missing = (skip: number): string[] =>
    reasonsOf(
      joinMultipart(
        readReply(
          onIso9141.filter((_, i) => i !== skip),
          "iso9141",
        ),
      ),
    );
  expect(missing(2)).toEqual(["part 3 of 5 is missing"]);
  expect(missing(4)).toEqual(["4 parts, expected a multiple of 5"]);
});

test("two parts with one number that differ are not believed", () => {
  const twice = ["48 6B 10 49 06 01 11 22 33 44 BD", "48 6B 10 49 06 01 11 22 33 45 BE"];
  expect(reasonsOf(joinMultipart(readReply(twice, "iso9141")))).toEqual(["part 1 came twice and differs"]);
});

test("modules are joined apart, and all else passes through", () => {
  const other = onIso9141.map((line) => {
    const sum = (parseInt(line.slice(-2), 16) + 8) & 0xff;
    return `${line.slice(0, 6)}18${line.slice(8, -2)}${sum.toString(16).padStart(2, "0")}`;
  });
  const mixed = ["BUS INIT: ...OK", ...onIso9141.flatMap((line, i) => [line, other[i] ?? ""])];
  const pieces = readReply(mixed, "iso9141");
  expect(short(joinMultipart(pieces))).toEqual(["= BUS INIT: ...OK", joined, joined.replace("10 ", "18 ")]);
  const support = readReply(["48 6B 10 49 00 01 54 00 00 00 61"], "iso9141");
  expect(joinMultipart(support)).toEqual(support);
});

test("a CAN reply of the same length stays what it is", () => {
  const pieces = readReply(["7E8 07 49 06 01 11 22 33 44"], "can11-500");
  expect(short(joinMultipart(pieces))).toEqual(["7E8 49060111223344"]);
});
