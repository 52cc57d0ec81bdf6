import fc from "fast-check";
import { expect, test } from "vitest";
import { readReply } from "../../adapters/framing/index.ts";
import { messagesOf, reasonsOf, short } from "./helpers.ts";

const vin = [
  "7E8 10 14 49 02 01 31 4D 38",
  "7E8 21 47 44 4D 39 41 58 4B",
  "7E8 22 50 30 34 32 37 38 38",
] as const;
const vinMessage = "7E8 490201314D3847444D3941584B50303432373838";

test("a frame that is missing loses the message, and says so", () => {
  expect(reasonsOf(readReply([vin[0], vin[2]], "can11-500"))).toEqual(["consecutive frame 2, expected 1"]);
  expect(reasonsOf(readReply([vin[0], vin[1]], "can11-500"))).toEqual(["unfinished: 13 of 20 bytes came"]);
  expect(reasonsOf(readReply([vin[1]], "can11-500"))).toEqual(["no first frame before it"]);
  for (const lines of [[vin[0], vin[2]], [vin[0], vin[1]], [vin[1]]]) {
    expect(readReply(lines, "can11-500")).toMatchObject([{ kind: "discarded", unfinished: true }]);
  }
});

test("a frame that came twice in a row loses nothing", () => {
  const pieces = readReply([vin[0], vin[0], vin[1], vin[1], vin[2]], "can11-500");
  expect(messagesOf(pieces)).toEqual([vinMessage]);
  expect(reasonsOf(pieces)).toEqual(["a frame that came twice", "a frame that came twice"]);
});

test("a frame that is too short loses the message", () => {
  expect(reasonsOf(readReply([vin[0], "7E8 21 47 44 4D", vin[2]], "can11-500"))).toEqual([
    "consecutive frame with 3 data bytes, expected 7",
    "no first frame before it",
  ]);
  expect(reasonsOf(readReply(["7E8 10 14 49 02 01"], "can11-500"))).toEqual([
    "first frame with 3 data bytes, expected 6",
  ]);
  expect(reasonsOf(readReply(["7E8 10 07 49 02 01 31 4D 38"], "can11-500"))).toEqual([
    "first frame of length 7",
  ]);
});

test("a module that begins anew gives its first message up", () => {
  const pieces = readReply([vin[0], vin[1], "7E8 04 41 0C 12 13"], "can11-500");
  expect(short(pieces)).toEqual(["discarded", "7E8 410C1213"]);
  expect(pieces[0]?.lines).toEqual([vin[0], vin[1]]);
});

test("the sequence number goes on with 0 behind F", () => {
  const total = 6 + 20 * 7;
  const head = `7E8 10 ${total.toString(16)} 46 00 00 00 00 00`;
  const frames = Array.from({ length: 20 }, (_, i) => {
    const number = ((i + 1) & 0xf).toString(16).toUpperCase();
    const fill = (i + 1).toString(16).padStart(2, "0").toUpperCase();
    return `7E8 2${number} ${Array.from({ length: 7 }, () => fill).join(" ")}`;
  });
  const [piece, ...others] = readReply([head, ...frames], "can11-500");
  expect(others).toEqual([]);
  if (piece?.kind !== "message") throw new Error("no message");
  expect(piece.data.length).toBe(total);
  expect(piece.data[6 + 16 * 7]).toBe(17);
  expect(piece.data[total - 1]).toBe(20);
});

test("a status word in the middle keeps its own piece and the message goes on", () => {
  const pieces = readReply([vin[0], vin[1], "BUFFER FULL"], "can11-500");
  expect(short(pieces)).toEqual(["discarded", "= BUFFER FULL"]);
});

/** Three modules' frames, each in its own order. */
const modules: readonly (readonly string[])[] = [
  vin,
  ["7E9 10 0A 47 04 01 07 02 07", "7E9 21 03 07 43 07", "7E9 04 41 0C 12 13"],
  ["7EA 03 7F 09 78", "7EA 06 47 02 01 02 D6 00"],
];

test("how the modules' frames are mixed does not matter", () => {
  const alone = modules.flatMap((lines) => messagesOf(readReply(lines, "can11-500")));
  expect(alone.length).toBe(5);
  fc.assert(
    fc.property(fc.shuffledSubarray([0, 0, 0, 1, 1, 1, 2, 2], { minLength: 8, maxLength: 8 }), (turns) => {
      const waiting = modules.map((lines) => [...lines]);
      const mixed = turns.map((module) => waiting[module]?.shift() ?? "");
      const pieces = readReply(mixed, "can11-500");
      expect(reasonsOf(pieces)).toEqual([]);
      expect(messagesOf(pieces).sort()).toEqual([...alone].sort());
    }),
  );
});
