import { expect, test } from "vitest";
import { readReply } from "../../adapters/framing/index.ts";
import { statusWord, statusWordOf, statusWords } from "../../shared/statusWords.ts";
import { short } from "./helpers.ts";

test("words are unique, with a meaning each", () => {
  expect(new Set(statusWords.map((row) => row.word)).size).toBe(statusWords.length);
  for (const row of statusWords) expect(row.meaning).toMatch(/^[A-Z].*\.$/);
});

// The words of ELM-compatible adapters, from memory.
test.each([
  ["SEARCHING...", "SEARCHING...", "info"],
  ["searching", "SEARCHING...", "info"],
  ["BUS INIT: ...OK", "BUS INIT: ...OK", "info"],
  ["BUS INIT: OK", "BUS INIT: ...OK", "info"],
  ["BUS INIT: ...ERROR", "BUS INIT: ...ERROR", "no-answer"],
  ["BUS INIT: ...", "BUS INIT: ...", "info"],
  ["NO DATA", "NO DATA", "no-answer"],
  ["NODATA", "NO DATA", "no-answer"],
  ["SEARCHING...UNABLE TO CONNECT", "UNABLE TO CONNECT", "no-answer"],
  ["UNABLE TO CONNECT", "UNABLE TO CONNECT", "no-answer"],
  ["STOPPED", "STOPPED", "adapter"],
  ["?", "?", "refused"],
  ["BUS ERROR", "BUS ERROR", "bus"],
  ["CAN ERROR", "CAN ERROR", "bus"],
  ["DATA ERROR", "DATA ERROR", "bus"],
  ["RX ERROR", "RX ERROR", "bus"],
  ["FB ERROR", "FB ERROR", "bus"],
  ["BUFFER FULL", "BUFFER FULL", "adapter"],
  ["BUS BUSY", "BUS BUSY", "bus"],
  ["ACT ALERT", "ACT ALERT", "info"],
  ["!ACT ALERT", "ACT ALERT", "info"],
  ["LP ALERT", "LP ALERT", "info"],
  ["LV RESET", "LV RESET", "reset"],
  ["48 6B 10 4LV RESET", "LV RESET", "reset"],
  ["41 0C 1A STOPPED", "STOPPED", "adapter"],
  ["ERR94", "ERR94", "reset"],
  ["ERR93", "ERRnn", "adapter"],
  ["OK", "OK", "info"],
  ["ELM327 v1.5", "IDENTITY", "reset"],
  ["48 6BELM327 v2.1", "IDENTITY", "reset"],
] as const)("%s is %s (%s)", (line, word, kind) => {
  expect(statusWordOf(line)).toMatchObject({ word, kind });
  expect(short(readReply([line], "can11-500"))).toEqual([`= ${word}`]);
});

test.each([
  "41 0C 1A F8",
  "7E8 04 41 0C 12 13",
  "",
  "12.4V",
  "48 6B 10 <DATA ERROR",
  "<RX ERROR",
  "LOOK",
  "A?",
])("%s is no status word", (line) => {
  expect(statusWordOf(line)).toBe(null);
});

test("every word of the table recognises itself, save the two that stand for a pattern", () => {
  for (const row of statusWords) {
    const sample = row.word === "ERRnn" ? "ERR01" : row.word === "IDENTITY" ? "ELM327 v1.3" : row.word;
    expect(statusWordOf(sample)).toBe(statusWord(row.word));
  }
});
