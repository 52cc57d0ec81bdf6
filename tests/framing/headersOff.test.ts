import { expect, test } from "vitest";
import { readReply } from "../../adapters/framing/index.ts";
import { reasonsOf, short } from "./helpers.ts";

test.each([
  "41 0C 1A F8",
  "41 0C 1A F8 0D 20",
  "41 00 BE 3F E8 13",
  "41 06 80 82",
  "43 01 33 00 00 00 00",
  "43 00",
  "47 01 A2 45",
  "44",
  "7F 01 12",
  "49 02 01 00 00 00 31",
  "42 0C 00 1A F8",
  "62 12 34 56",
])("a short reply is believed when its length fits: %s", (line) => {
  for (const protocol of ["can11-500", "vpw", "kwp-fast", null] as const) {
    expect(short(readReply([line], protocol))).toEqual([line.replaceAll(" ", "")]);
  }
});

test.each([
  "41 0C 1A F8 B2",
  "41 0C 1A",
  "41",
  "7F 01",
  "43 01 33",
  "44 00",
  "0C 1A F8",
  "41 0C 1A F8 0D 20 05 7B",
])("and not when it does not fit: %s", (line) => {
  expect(short(readReply([line], "kwp-fast"))).toEqual(["discarded"]);
});

test("several modules cannot be told apart, but their replies can be read", () => {
  expect(short(readReply(["41 00 BE 3F E8 13", "41 00 80 00 00 00"], null))).toEqual([
    "4100BE3FE813",
    "410080000000",
  ]);
});

test("a VIN in numbered lines", () => {
  const lines = ["014", "0: 49 02 01 31 4D 38", "1: 47 44 4D 39 41 58 4B", "2: 50 30 34 32 37 38 38"];
  const wanted = ["490201314D3847444D3941584B50303432373838"];
  expect(short(readReply(lines, "can29-500"))).toEqual(wanted);
  expect(
    short(
      readReply(
        lines.map((line) => line.replaceAll(" ", "")),
        null,
      ),
    ),
  ).toEqual(wanted);
});

test("a length that reads like a request with a count: 031 is 49 bytes here", () => {
  const lines = ["031", "0: 43 18 01 33 01 33"];
  for (let at = 6, n = 1; at < 49; at += 7, n++) {
    lines.push(`${(n & 15).toString(16).toUpperCase()}: 01 33 01 33 01 33 01`);
  }
  const [piece] = readReply(lines, "can11-500");
  expect(piece?.kind === "message" ? piece.data.length : piece).toBe(49);
  expect(reasonsOf(readReply(["031"], "can11-500"))).toEqual(["an echo of what was sent"]);
});

test("numbered lines that do not follow each other are discarded together", () => {
  const lines = ["014", "0: 49 02 01 31 4D 38", "2: 50 30 34 32 37 38 38", "41 0C 1A F8"];
  const pieces = readReply(lines, "can11-500");
  expect(short(pieces)).toEqual(["discarded", "410C1AF8"]);
  expect(pieces[0]?.lines).toEqual(lines.slice(0, 3));
});

test("numbered lines exist on CAN only", () => {
  expect(short(readReply(["00A", "0: 46 3D 98 FE 00 69", "1: 80 00 0D 8A"], "vpw"))).toEqual([
    "discarded",
    "discarded",
    "discarded",
  ]);
});

test("once one line shows its header, a line without one is not believed", () => {
  expect(short(readReply(["7E8 04 41 0C 12 13", "41 0C 1A F8"], "can11-500"))).toEqual([
    "7E8 410C1213",
    "discarded",
  ]);
});

test("where the caller knows how lines begin, nothing is guessed", () => {
  expect(short(readReply(["41 0C 1A F8"], "can11-500", true))).toEqual(["discarded"]);
  expect(short(readReply(["41 0C 1A F8"], "can11-500", false))).toEqual(["410C1AF8"]);
  expect(short(readReply(["7E8 04 41 0C 12 13"], "can11-500", false))).toEqual(["discarded"]);
});

test.each([
  // A refusal whose first digit was changed: it must not become trouble codes.
  ["kwp-fast", "43 F1 10 7F 01 78 7C"],
  ["vpw", "43 6B 10 7F 01 12 35"],
  ["pwm", "41 6B 10"],
] as const)("%s: a damaged header is no reply without one: %s", (protocol, line) => {
  expect(short(readReply([line], protocol))).toEqual(["discarded"]);
  expect(short(readReply([line], null))).toEqual(["discarded"]);
});
