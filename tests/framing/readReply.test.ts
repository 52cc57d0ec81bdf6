import { expect, test } from "vitest";
import { readReply } from "../../adapters/framing/index.ts";
import { messagesOf, reasonsOf, short } from "./helpers.ts";

// Checksums in this file were worked out apart from our code, by addition and by long division.

test("status words stand beside the data", () => {
  const lines = ["SEARCHING...", "7E8 06 41 00 BE 3F E8 13", "7E9 06 41 00 80 00 00 00"];
  expect(short(readReply(lines, null))).toEqual(["= SEARCHING...", "7E8 4100BE3FE813", "7E9 410080000000"]);
});

test("data behind SEARCHING... on the same line", () => {
  expect(short(readReply(["SEARCHING...41 00 BE 3F E8 13"], null))).toEqual(["4100BE3FE813"]);
});

test("echoes are told as such and never taken for data", () => {
  const lines = ["010C1", "ATSP6", "at h1", "01 0C", "7E8 04 41 0C 12 13", "03", "09021", ">010C"];
  const pieces = readReply(lines, "can11-500");
  expect(messagesOf(pieces)).toEqual(["7E8 410C1213"]);
  expect(new Set(reasonsOf(pieces))).toEqual(new Set(["an echo of what was sent"]));
});

test("padding behind a single frame is left off", () => {
  expect(short(readReply(["7E8 04 41 0C 12 13 AA AA AA"], "can11-500"))).toEqual(["7E8 410C1213"]);
});

test("29-bit identifiers name the module", () => {
  const lines = ["18 DA F1 10 04 41 0C 1A F8", "18DAF11804410C1AF8"];
  expect(short(readReply(lines, "can29-500"))).toEqual(["10 410C1AF8", "18 410C1AF8"]);
  expect(short(readReply(lines, null))).toEqual(["10 410C1AF8", "18 410C1AF8"]);
});

test.each([
  ["can11-500", "7DF 02 01 0C"],
  ["can11-500", "7E0 30 00 00"],
  ["can29-500", "18 DB 33 F1 02 01 0C"],
  ["can29-500", "18 DA 10 F1 30 00 00"],
  ["iso9141", "68 6A F1 01 0C D0"],
  ["vpw", "68 6A F1 01 0C 8B"],
  ["pwm", "61 6A F1 01 0C 96"],
  ["kwp-fast", "C2 33 F1 01 0C F3"],
] as const)("%s: a request on the bus is no reply: %s", (protocol, line) => {
  expect(reasonsOf(readReply([line], protocol))).toEqual(["a request, not a reply"]);
});

test.each([
  ["iso9141", "48 6B 40 41 0C 0C 97 E4", "checksum E4, expected E3"],
  ["iso9141", "48 6B 40 41 0C 0C 96 E3", "checksum E3, expected E2"],
  ["vpw", "48 6B 10 41 0C 1A F8 B3", "checksum B3, expected B2"],
  ["kwp-slow", "84 F1 10 41 0C 1A F8 E5", "checksum E5, expected E4"],
  ["kwp-fast", "84 F1 10 41 0C 1A F8", "7 bytes, expected 8"],
  ["kwp-fast", "84 F1 10 41 0C 1A F8 E4 00", "9 bytes, expected 8"],
  ["kwp-fast", "84 33 10 41 0C 1A F8 26", "addressed to 33, expected F1"],
  ["kwp-fast", "04 F1 10 41 0C 1A F8 64", "format byte 04 carries no addresses"],
  ["kwp-fast", "10 F1 10 41 0C 1A F8 64", "format byte 10 carries no addresses"],
  ["can11-500", "7E8 04 41 0C 12", "3 data bytes, expected 4"],
  ["can11-500", "7E8 04 41 0C 1 13", "a byte is cut in half"],
  ["can11-500", "3E8 04 41 0C 12 13", "identifier 3E8, expected 7E8 to 7EF"],
  ["can11-500", "7E804410C121", "a digit too many or too few for an 11-bit frame"],
  ["can11-500", "7E8 04 41 0C 12 13 00 00 00 00", "9 data bytes, at most 8 fit a CAN frame"],
  ["can11-500", "7E8 00 41 0C", "single frame of length 0"],
  ["can11-500", "7E8 F1 41 0C", "control byte F1 is not known"],
  ["can11-500", "7E8 30 00 00", "flow control"],
  ["can29-500", "18 DA F2 10 04 41 0C 12 13", "identifier 18DAF210, expected 18DAF1 and the module"],
  ["can11-500", "7E8 04 41 0C 12 <RX ERROR", "the adapter marked it as damaged"],
  ["vpw", "48 6B 10 41 0C 1A <DATA ERROR", "the adapter marked it as damaged"],
  ["vpw", "hello", "not hexadecimal"],
  ["vpw", "", "an empty line"],
  ["vpw", "48 6B 10", "3 bytes, too few for a frame"],
] as const)("%s: %s is discarded: %s", (protocol, line, reason) => {
  expect(reasonsOf(readReply([line], protocol))).toEqual([reason]);
});

test("a damaged line beside good ones is not taken for a reply without a header", () => {
  // The first line lost its header; its checksum byte would pass for data.
  const lines = ["41 0C 1A F8 B2", "48 6B 18 41 0C 1A F8 1E", "48 6B 10 41 0C 1A F8 B2"];
  const pieces = readReply(lines, "vpw");
  expect(short(pieces)).toEqual(["discarded", "discarded", "10 410C1AF8"]);
  expect(messagesOf(readReply(lines.slice(0, 1), "vpw"))).toEqual([]);
});

test("KWP: length in the format byte, or in a byte of its own", () => {
  expect(short(readReply(["80 F1 10 04 41 0C 1A F8 E4"], "kwp-fast"))).toEqual(["10 410C1AF8"]);
  expect(short(readReply(["80 F1 10 00 81"], "kwp-fast"))).toEqual(["discarded"]);
});

test("PWM: a byte of the receiver inside the frame is left off", () => {
  expect(short(readReply(["41 6B 10 41 0C 1A F8 3D F1"], "pwm"))).toEqual(["10 410C1AF8"]);
  // Any other byte there is a frame with a wrong checksum: this one would fit by chance.
  expect(short(readReply(["41 6B 10 41 08 1A F8 3D"], "pwm"))).toEqual(["discarded"]);
  expect(short(readReply(["48 6B 10 41 0C 1A F8 B2 F1"], "vpw"))).toEqual(["discarded"]);
});

test("several messages of one module stay apart: three codes each outside CAN", () => {
  const lines = ["48 6B 10 43 01 33 00 00 00 00 3A", "48 6B 10 43 02 01 02 02 03 01 11"];
  expect(short(readReply(lines, "iso9141"))).toEqual(["10 43013300000000", "10 43020102020301"]);
});

test("a module that asks for patience, then answers", () => {
  const kwp = ["83 F1 10 7F 01 78 7C", "84 F1 10 41 0C 1A F8 E4"];
  expect(short(readReply(kwp, "kwp-slow"))).toEqual(["10 7F0178", "10 410C1AF8"]);
  const can = [
    "7E8 03 7F 09 78",
    "7E8 10 14 49 02 01 31 4D 38",
    "7E8 21 47 44 4D 39 41 58 4B",
    "7E8 22 50 30 34 32 37 38 38",
  ];
  expect(short(readReply(can, "can11-500"))).toEqual([
    "7E8 7F0978",
    "7E8 490201314D3847444D3941584B50303432373838",
  ]);
});

test("without a protocol, the checksum or the identifier proves it", () => {
  for (const line of [
    "48 6B 40 41 0C 0C 97 E3",
    "48 6B 10 41 0C 1A F8 B2",
    "41 6B 10 41 0C 1A F8 3D",
    "84 F1 10 41 0C 1A F8 E4",
    "7E8 04 41 0C 12 13",
    "18 DA F1 10 04 41 0C 1A F8",
  ]) {
    expect(messagesOf(readReply([line], null)).length, line).toBe(1);
  }
  expect(reasonsOf(readReply(["48 6B 10 41 0C 1A F8 00"], null))).toEqual([
    "the protocol is unknown and no single one fits",
  ]);
});

test("a wrong protocol never turns good lines into values", () => {
  expect(messagesOf(readReply(["48 6B 40 41 0C 0C 97 E3"], "vpw"))).toEqual([]);
  expect(messagesOf(readReply(["84 F1 10 41 0C 1A F8 E4"], "can29-500"))).toEqual([]);
  expect(messagesOf(readReply(["7E8 04 41 0C 12 13"], "can29-500"))).toEqual([]);
});

test("NUL bytes and stray blanks around a line say nothing", () => {
  expect(short(readReply(["\0 7E8 04 41 0C 12 13 \0"], "can11-500"))).toEqual(["7E8 410C1213"]);
});
