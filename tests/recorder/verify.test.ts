import { gzipSync } from "node:zlib";
import { createHash } from "node:crypto";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { verifyRecording, verifyStatuses } from "../../src/recorder/verify.ts";
import { CranksideError } from "../../shared/errors.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { closed, exchange, file, headerText, mark, tempFolder } from "./support.ts";

const body = headerText + eventLine(exchange(10)) + eventLine(mark(20, "Öl")) + eventLine(exchange(30));
const good = closed(body);

/** The state, or the code of the error. */
async function outcomeOf(path: string): Promise<string> {
  try {
    return (await verifyRecording(path)).state;
  } catch (error) {
    if (error instanceof CranksideError) return error.code;
    throw error;
  }
}

const stateOf = (content: string | Uint8Array): Promise<string> => outcomeOf(file(content));

test("exit statuses tell the outcomes apart, and from failure and wrong use", () => {
  expect(verifyStatuses).toEqual({ whole: 0, "cut-short": 3, altered: 4 });
});

test("a whole recording: counts, times and the hash of all of it", async () => {
  const result = await verifyRecording(file(good));
  expect(result).toMatchObject({
    state: "whole",
    reasons: [],
    lines: 5,
    events: { x: 2, mark: 1, end: 1 },
    dropped: 0,
    notices: [],
    lastTime: 900,
    bytes: Buffer.byteLength(good),
    sha256: createHash("sha256").update(good).digest("hex"),
    gzip: false,
    ends: [{ line: 5, agrees: true }],
  });
  expect(JSON.parse(JSON.stringify(result))).toEqual(result);
});

test("compressed, it is whole by the text inside", async () => {
  const packed = gzipSync(good);
  expect(await stateOf(packed)).toBe("whole");
  expect(await stateOf(packed.subarray(0, packed.length - 9))).toBe("cut-short");
  const cut = await verifyRecording(file(packed.subarray(0, packed.length - 60)));
  expect(cut.state).toBe("cut-short");
  // What is missing is told as lost, not as something to know.
  expect(cut.notices.map(({ line, lost }) => ({ line, lost }))).toContainEqual({ line: 0, lost: true });
});

test("cut at every byte: no recording in the header, cut short after it, whole only at the end", async () => {
  const bytes = Buffer.from(good);
  const headerEnd = Buffer.byteLength(headerText);
  const path = join(tempFolder(), "cut.ndjson");
  for (let keep = 0; keep <= bytes.length; keep++) {
    writeFileSync(path, bytes.subarray(0, keep));
    const found = await outcomeOf(path);
    // Without its last line feed the end line is all there.
    const expected =
      keep < headerEnd - 1 ? "not-a-recording" : keep < bytes.length - 1 ? "cut-short" : "whole";
    expect(`${keep}: ${found}`).toBe(`${keep}: ${expected}`);
  }
});

test("any altered byte before the end line is found", async () => {
  const bytes = Buffer.from(good);
  const path = join(tempFolder(), "altered.ndjson");
  for (let at = 0; at < Buffer.byteLength(body); at++) {
    const altered = Buffer.from(bytes);
    altered[at] = (bytes[at] ?? 0) ^ 0x01;
    writeFileSync(path, altered);
    const found = await outcomeOf(path);
    if (at < Buffer.byteLength(headerText)) {
      expect(["altered", "not-a-recording", "newer-format"], `byte ${at}`).toContain(found);
    } else expect(`byte ${at}: ${found}`).toBe(`byte ${at}: altered`);
  }
});

test("an altered hash, a lost line and other line ends are alterations", async () => {
  expect(
    await stateOf(good.replace(/"sha256":"(.)/, (_, c: string) => `"sha256":"${c === "0" ? "1" : "0"}`)),
  ).toBe("altered");
  expect(await stateOf(good.replace(eventLine(exchange(10)), ""))).toBe("altered");
  expect(await stateOf(good.replaceAll("\n", "\r\n"))).toBe("altered");
});

test("a wrong line in the middle is an alteration even without an end line", async () => {
  const result = await verifyRecording(file(`${headerText}rubbish\n${eventLine(exchange(10))}`));
  expect(result.state).toBe("altered");
  expect(result.dropped).toBe(1);
  expect(result.notices[0]?.line).toBe(2);
});

test("a torn tail and a missing end are cut short, and say what was recovered", async () => {
  const torn = await verifyRecording(file(`${body}{"t":40,"k":"x","ask":"01`));
  expect(torn).toMatchObject({ state: "cut-short", lines: 5, events: { x: 2, mark: 1 }, dropped: 1 });
  const open = await verifyRecording(file(body));
  expect(open).toMatchObject({ state: "cut-short", lines: 4, dropped: 0, ends: [] });
});

test("an addition with its own end is whole; without it, cut short", async () => {
  const added = closed(good + eventLine(mark(5000)));
  expect(await verifyRecording(file(added))).toMatchObject({
    state: "whole",
    events: { x: 2, mark: 2, end: 2 },
    ends: [
      { line: 5, agrees: true },
      { line: 7, agrees: true },
    ],
  });
  expect(await stateOf(good + eventLine(mark(5000)))).toBe("cut-short");
  expect(await stateOf(`${good}\n`)).toBe("cut-short");
});

test("of two ends the first counts as well", async () => {
  const spoilt = good.replace('"label":"Öl"', '"label":"Ol"');
  expect(await verifyRecording(file(closed(spoilt + eventLine(mark(5000)))))).toMatchObject({
    state: "altered",
    ends: [{ agrees: false }, { agrees: true }],
  });
});

test("vehicle data after an end line is an alteration, whatever the hashes say", async () => {
  expect(await stateOf(closed(good + eventLine(exchange(2000))))).toBe("altered");
});

test("kinds that are not known yet are counted and alter nothing", async () => {
  const text = closed(
    `${headerText}{"t":1,"k":"weather"}\n{"t":2,"k":"__proto__"}\n{"t":3,"k":"constructor"}\n`,
  );
  const result = await verifyRecording(file(text));
  expect(result.state).toBe("whole");
  expect(Object.entries(result.events)).toEqual([
    ["weather", 1],
    ["__proto__", 1],
    ["constructor", 1],
    ["end", 1],
  ]);
});

test("a recording that was cut and carried on is whole, and the cut is told", async () => {
  const torn = '{"t":40,"k":"x","as';
  const notice = `{"t":30,"k":"notice","text":"cut short here","torn":${torn.length}}\n`;
  const result = await verifyRecording(file(closed(`${body}${torn}\n${notice}`)));
  expect(result.state).toBe("whole");
  expect(result.reasons).toHaveLength(1);
  expect(result.dropped).toBe(1);
  expect(await stateOf(closed(`${body}${torn}\n${eventLine(mark(4))}`))).toBe("altered");
});

test.each([
  ["nothing", "", "not-a-recording"],
  ["a newer version", headerText.replace('"version":1', '"version":7'), "newer-format"],
])("%s is no recording to verify", async (_, content, code) => {
  expect(await stateOf(content)).toBe(code);
});

test("a missing file is no recording to verify", async () => {
  await expect(verifyRecording(join(tempFolder(), "none"))).rejects.toMatchObject({ code: "file-missing" });
});
