/** What adapters and modules have been met to print. Frames and checksums by hand. */
import { describe, expect, test } from "vitest";
import { readReply } from "../../adapters/framing/index.ts";
import { messagesOf, short } from "./helpers.ts";

describe("words of the adapter on the same line as data", () => {
  test.each([
    ["BUS INIT: OK486B104100BE3FE813FC", "iso9141"],
    ["BUS INIT: ...OK48 6B 10 41 00 BE 3F E8 13 FC", "iso9141"],
    ["BUS INIT: OK 486B104100BE3FE813FC", null],
  ] as const)("%s: the data are read", (line, protocol) => {
    expect(messagesOf(readReply([line], protocol))).toEqual(["10 4100BE3FE813"]);
  });

  test.each([
    ["7E804410C1AF8STOPPED", "STOPPED"],
    ["STOPPED7E804410C1AF8", "STOPPED"],
    ["SEARCHING...STOPPED", "STOPPED"],
    ["BUS INIT: ...STOPPED", "STOPPED"],
    ["BUS INIT: STOPPED", "STOPPED"],
    ["010CNO DATA", "NO DATA"],
    ["010C1UNABLE TO CONNECT", "UNABLE TO CONNECT"],
    ["0100BUS INIT: ...ERROR", "BUS INIT: ...ERROR"],
    ["0100CAN ERROR", "CAN ERROR"],
    ["010C?", "?"],
    ["7E804410C1AF8FC RX TIMEOUT", "FC RX TIMEOUT"],
    ["OUT OF MEMORY", "OUT OF MEMORY"],
    ["VENDOR OPTION", "VENDOR OPTION"],
    ["ERR94", "ERR94"],
    ["010CERR94", "ERR94"],
    ["7E804410C1AF8ACT ALERT", "ACT ALERT"],
  ])("%s: the word is told, and nothing beside it is believed", (line, word) => {
    expect(readReply([line], "can11-500")).toEqual([{ kind: "status", word, lines: [line] }]);
  });
});

describe("replies of several frames", () => {
  test("a reply to nobody's question between its frames is another message, and loses nothing", () => {
    const [head, second, last] = ["7E81014490201314434", "7E82147503030523535", "7E82242313233343536"];
    const pieces = readReply([head, second, "7E804410C1AF8", last], "can11-500");
    expect(messagesOf(pieces)).toEqual(["7E8 4902013144344750303052353542313233343536", "7E8 410C1AF8"]);
    expect(messagesOf(readReply([head, "7E804410C1AF8", last], "can11-500"))).toEqual(["7E8 410C1AF8"]);
  });

  test("lines with their numbers, glued without returns", () => {
    const apart = ["014", "0:490201314434", "1:47503030523535", "2:42313233343536"];
    const whole = ["4902013144344750303052353542313233343536"];
    expect(messagesOf(readReply(apart, "can11-500"))).toEqual(whole);
    expect(messagesOf(readReply([apart.join("")], "can11-500"))).toEqual(whole);
    expect(messagesOf(readReply(["014", apart.slice(1).join("")], "can11-500"))).toEqual(whole);
    expect(messagesOf(readReply([apart.join(" ")], "can11-500"))).toEqual(whole);
  });

  test("glued lines of which one is missing, or that hold more than one message, are one discarded line", () => {
    for (const glued of [
      "0140:4902013144342:42313233343536",
      "0080:410C1AF80D201:0564AAAAAAAAAA0080:410C1AF80D201:0564AAAAAAAAAA",
    ]) {
      const pieces = readReply([glued], "can11-500");
      expect(short(pieces)).toEqual(["discarded"]);
      expect(pieces[0]?.lines).toEqual([glued]);
    }
  });
});
