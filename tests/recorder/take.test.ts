/** A recording from elsewhere: kept as it came, under a name of its own, or not at all. */
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { isCranksideError } from "../../shared/errors.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { takeRecording, type Taken } from "../../src/recorder/take.ts";
import { closed, exchange, headerText, tempFolder } from "./support.ts";

const whole = closed(headerText + eventLine(exchange(1)));

function take(own: string, name: string, content: string | Uint8Array): Promise<Taken> {
  const bytes = Buffer.from(content);
  // In pieces, as it comes over a line.
  const half = Math.floor(bytes.length / 2);
  const pieces = [bytes.subarray(0, half), bytes.subarray(half)];
  return takeRecording(
    own,
    name,
    (async function* () {
      for (const piece of pieces) yield await Promise.resolve(piece);
    })(),
  );
}

async function codeOf(work: Promise<unknown>): Promise<string> {
  try {
    await work;
  } catch (error) {
    if (isCranksideError(error)) return error.code;
    throw error;
  }
  return "no error";
}

test("it is kept byte for byte; the same once more is known, another of its name gets a number", async () => {
  const own = join(tempFolder(), "own");
  expect(await take(own, "Ada's van.ndjson", whole)).toEqual({
    ...{ file: "Ada-s van.ndjson", state: "whole", known: false },
  });
  expect(readFileSync(join(own, "Ada-s van.ndjson"), "utf8")).toBe(whole);
  expect(await take(own, "Ada's van.ndjson", whole)).toMatchObject({ known: true });
  const cut = headerText + eventLine(exchange(2));
  expect(await take(own, "../../Ada's van.ndjson", cut)).toEqual({
    ...{ file: "Ada-s van-2.ndjson", state: "cut-short", known: false },
  });
  expect(await take(own, "packed.ndjson", gzipSync(whole))).toMatchObject({ file: "packed.ndjson.gz" });
  expect(await take(own, "...", whole)).toMatchObject({ file: "recording.ndjson" });
  expect(readdirSync(own).sort()).toEqual([
    ...["Ada-s van-2.ndjson", "Ada-s van.ndjson", "packed.ndjson.gz", "recording.ndjson"],
  ]);
});

test("what is no recording, or of a later version, leaves nothing behind", async () => {
  const own = tempFolder();
  writeFileSync(join(own, "mine.ndjson"), whole);
  expect(await codeOf(take(own, "mine.ndjson", "nothing of the kind\n"))).toBe("not-a-recording");
  expect(await codeOf(take(own, "x.ndjson", ""))).toBe("not-a-recording");
  const later = headerText.replace('"version":1', '"version":9');
  expect(await codeOf(take(own, "x.ndjson", later))).toBe("newer-format");
  expect(readdirSync(own)).toEqual(["mine.ndjson"]);
  expect(readFileSync(join(own, "mine.ndjson"), "utf8")).toBe(whole);
});
