import fc from "fast-check";
import { expect, test } from "vitest";
import { joinMultipart, readReply, type Piece } from "../../adapters/framing/index.ts";
import { protocolIds, type ProtocolId } from "../../shared/protocols.ts";
import { statusWords } from "../../shared/statusWords.ts";
import { messagesOf } from "./helpers.ts";

/** Every line is in exactly one piece, and lines of a piece keep their order. */
function nothingLost(lines: readonly string[], pieces: readonly Piece[]): void {
  expect(pieces.flatMap((piece) => piece.lines).sort()).toEqual([...lines].sort());
  for (const piece of pieces) expect(piece.lines.length).toBeGreaterThan(0);
}

const anyProtocol = fc.constantFrom<ProtocolId | null>(...protocolIds, null);

/** Good replies from the examples, by protocol. */
const good: readonly (readonly [ProtocolId, readonly string[]])[] = [
  ["pwm", ["41 6B 10 41 0C 1A F8 3D"]],
  ["vpw", ["48 6B 10 41 0C 1A F8 B2"]],
  ["iso9141", ["48 6B 40 41 0C 0C 97 E3", "48 6B 10 43 01 33 00 00 00 00 3A"]],
  ["kwp-slow", ["83 F1 10 7F 01 78 7C", "84 F1 10 41 0C 1A F8 E4"]],
  ["kwp-fast", ["80 F1 10 04 41 0C 1A F8 E4"]],
  [
    "can11-500",
    [
      "SEARCHING...",
      "7E8 10 14 49 02 01 31 4D 38",
      "7E9 04 41 0C 12 13",
      "7E8 21 47 44 4D 39 41 58 4B",
      "7E8 22 50 30 34 32 37 38 38",
    ],
  ],
  ["can29-500", ["18 DA F1 10 04 41 0C 1A F8"]],
  ["can11-250", ["014", "0: 49 02 01 31 4D 38", "1: 47 44 4D 39 41 58 4B", "2: 50 30 34 32 37 38 38"]],
];

/** Plain ASCII only. */
const characters = (text: string): string[] => Array.from(text);

const hexLine = fc
  .array(fc.constantFrom(...characters("0123456789ABCDEF 7E8")), { maxLength: 30 })
  .map((chosen) => chosen.join(""));
const numberedLine = fc
  .tuple(fc.constantFrom(...characters("0123F")), hexLine)
  .map(([n, rest]) => `${n}: ${rest}`);
const anyLine = fc.oneof(
  fc.string({ unit: "binary", maxLength: 40 }),
  hexLine,
  numberedLine,
  fc.constantFrom(...statusWords.map((row) => row.word), "00A", "014", "48 6B <DATA ERROR", "ELM327 v1.5"),
  fc.constantFrom(...good.flatMap(([, lines]) => lines)),
);

test("random text: every line in exactly one piece, nothing thrown", () => {
  fc.assert(
    fc.property(fc.array(anyLine, { maxLength: 12 }), anyProtocol, (lines, protocol) => {
      const pieces = readReply(lines, protocol);
      nothingLost(lines, pieces);
      nothingLost(lines, joinMultipart(pieces));
    }),
    { numRuns: 3000 },
  );
});

/** What a bad line, a dip or a clone does to characters: lost, doubled, changed, cut. */
const damage = fc.record({
  at: fc.nat(),
  kind: fc.constantFrom("lose", "double", "change", "cut"),
  by: fc.constantFrom(...characters("0123456789ABCDEF <?")),
});

test("damaged good replies: every line in exactly one piece, nothing thrown", () => {
  fc.assert(
    fc.property(
      fc.constantFrom(...good),
      fc.array(damage, { minLength: 1, maxLength: 4 }),
      ([protocol, lines], damages) => {
        let text = lines.join("\r");
        for (const { at, kind, by } of damages) {
          const i = at % (text.length + 1);
          if (kind === "lose") text = text.slice(0, i) + text.slice(i + 1);
          else if (kind === "double") text = text.slice(0, i + 1) + text.slice(i);
          else if (kind === "change") text = text.slice(0, i) + by + text.slice(i + 1);
          else text = text.slice(0, i);
        }
        const damaged = text.split("\r");
        nothingLost(damaged, readReply(damaged, protocol));
        nothingLost(damaged, readReply(damaged, null));
      },
    ),
    { numRuns: 3000 },
  );
});

test("one changed digit in a frame with a checksum never gives another message of the same module", () => {
  // A single digit changes at most four neighbouring bits: the CRC finds every such burst, the sum every such step.
  const digits = "0123456789ABCDEF";
  for (const [protocol, lines] of good.slice(0, 5)) {
    for (const line of lines) {
      const right = messagesOf(readReply([line], protocol));
      expect(right.length).toBe(1);
      for (let i = 0; i < line.length; i++) {
        if (line[i] === " ") continue;
        for (const digit of digits) {
          if (digit === line[i]) continue;
          const wrong = line.slice(0, i) + digit + line.slice(i + 1);
          expect(messagesOf(readReply([wrong], protocol)), `${protocol}: ${wrong}`).toEqual([]);
        }
      }
    }
  }
});

test("cut at any place, no frame with a checksum passes for another", () => {
  for (const [protocol, lines] of good.slice(0, 5)) {
    for (const line of lines) {
      for (let i = 1; i < line.length; i++) {
        expect(messagesOf(readReply([line.slice(0, i)], protocol)), line.slice(0, i)).toEqual([]);
      }
    }
  }
});

test("spaces and case do not matter", () => {
  for (const [protocol, lines] of good) {
    const right = messagesOf(readReply(lines, protocol));
    expect(right.length).toBeGreaterThan(0);
    const packed = lines.map((line) => line.replaceAll(" ", "").toLowerCase());
    expect(messagesOf(readReply(packed, protocol))).toEqual(right);
  }
});
