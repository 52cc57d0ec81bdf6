/** Modules beside those of the standard, and lines that real adapters print. Bytes: open collection OBDb, captured. */
import { expect, test } from "vitest";
import { readReply } from "../../adapters/framing/index.ts";

const messages = (lines: readonly string[], ids: readonly string[] = [], addressed = false) =>
  readReply(lines, "can11-500", true, { ids: new Set(ids), addressed }).map((piece) =>
    piece.kind === "message"
      ? [piece.module, Buffer.from(piece.data).toString("hex").toUpperCase()]
      : piece.kind === "discarded"
        ? [piece.reason]
        : [piece.word],
  );

test("a reply under another identifier is a damaged line, until a person names it", () => {
  expect(messages(["7B806610300000000"])).toEqual([["identifier 7B8, expected 7E8 to 7EF"]]);
  expect(messages(["7B806610300000000"], ["7B8"])).toEqual([["7B8", "610300000000"]]);
});

test("a module may put an address byte before each frame's contents", () => {
  const lines = ["7582A1007611661625F", "7582A215F0000000000"];
  expect(messages(lines, ["758"], true)).toEqual([["758", "611661625F5F00".slice(0, 14)]]);
  expect(messages(lines, ["758"])).not.toContainEqual(expect.arrayContaining(["758"]));
});

test("a full frame that announces nine bytes is told, with what came", () => {
  const [piece] = readReply(["18DAF11009416801390000AA"], "can29-500");
  expect(piece).toMatchObject({ kind: "message", module: "10", claims: 9 });
  expect(readReply(["18DAF110094168013900"], "can29-500")[0]).toMatchObject({
    kind: "discarded",
    reason: "single frame of length 9",
  });
});

test("a line that holds as many bytes as it says is whole, though no CAN frame carries them", () => {
  expect(messages(["7E808610302007E798400"])).toEqual([["7E8", "610302007E798400"]]);
  expect(messages(["7E808610302007E79840000"])).toEqual([["10 data bytes, at most 8 fit a CAN frame"]]);
});

test("a short first frame is taken only when all of it adds up to the byte", () => {
  const lines = ["7E8100E610480007B", "7E8218762E17B877FDF", "7E82200FF"];
  expect(messages(lines)).toEqual([["7E8", "610480007B8762E17B877FDF00FF"]]);
  // One byte lost on the serial line, and padding printed behind the last: nothing is made up.
  expect(messages(["7E8100E610480007B", "7E8218762E17B877FDF", "7E82200FF0000000000"])).toEqual([
    ["consecutive frame with 7 data bytes, expected 2"],
  ]);
});
