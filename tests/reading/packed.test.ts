/** A recording that one thread begins to read and another reads on is the recording that one has read alone. */
import fc from "fast-check";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { eventLine, headerLine, type RecordingEvent } from "../../shared/recording/format.ts";
import { Reading } from "../../src/reading/index.ts";
import { crankCounter } from "../support/defined.ts";
import { asked, header } from "./support.ts";

/** Whatever a reading keeps between two lines: stands of counters, marks taken back, what was told once, a gap. */
const events: readonly RecordingEvent[] = [
  { k: "link", t: 1, state: "protocol", protocol: "can11-500", modules: { "7E8": [0x0c, 0x11, 0x1d] } },
  { k: "defined", t: 2, parameters: [crankCounter] },
  asked(100, "221101", "7E8 05 62 11 01 FF F0"),
  asked(600, "2211011", "7E8056211010010"),
  asked(700, "010C1", "7E8 04 41 0C 12 13", "7E9 04 41 0C 12 10"),
  { k: "mark", t: 710, id: "a", at: 700, label: "Öl nachgefüllt" },
  asked(720, "010C1", "7E8 04 41 0C 12 1"),
  { k: "s", t: 730, ch: "oil-film", v: 3.5, u: "furlong" },
  { k: "s", t: 729, ch: "oil-film", v: 4, u: "furlong" },
  { k: "s", t: 728, ch: "oil-film", v: 4, u: "furlong" },
  asked(740, "03", "7E8 02 43 00"),
  { k: "link", t: 800, state: "lost", why: "port gone" },
  { k: "mark", t: 810, id: "a", at: 700, label: "Öl nachgefüllt", removed: true },
  { k: "link", t: 900, state: "back" },
  asked(910, "221101", "7E8 05 62 11 01 00 20"),
  asked(950, "ATRV", "12.4V"),
  asked(960, "0114", "NO DATA"),
  { k: "facts", t: 970, facts: { complaint: "startet nicht", vehicle: { cylinders: 4 } } },
  { k: "end", t: 980, sha256: "0".repeat(64) },
];

/** All that it knows, with its columns as long as they are filled. */
function told(reading: Reading): unknown {
  return {
    ...reading.pack(),
    series: reading.channels.all().map((s) => [s.channel, s.module, [...s.times], [...s.values], s.answered]),
  };
}

const made = new TextEncoder().encode(
  `${headerLine({ ...header, protocol: "can11-500" })}{\n${events.map(eventLine).join("")}{"t":990,"k"`,
);
const sample = gunzipSync(
  readFileSync(join(import.meta.dirname, "../../recordings/hatch-fires-and-chokes.ndjson.gz")),
);

function alone(bytes: Uint8Array): Reading {
  const reading = new Reading("test");
  reading.push(bytes);
  reading.finish();
  return reading;
}

test.each([
  ["of everything there can be", made, 200],
  ["of a sample", sample, 40],
])("a recording %s, handed over at any byte", (_, bytes, numRuns) => {
  const whole = told(alone(bytes));
  fc.assert(
    fc.property(fc.nat(bytes.length), (at) => {
      const first = new Reading("test");
      first.push(bytes.subarray(0, at));
      const second = new Reading("test", structuredClone(first.pack()));
      second.push(bytes.subarray(at));
      second.finish();
      expect(told(second)).toEqual(whole);
    }),
    { numRuns },
  );
});

test("a recording that was read to its end elsewhere and has grown since", () => {
  const reading = new Reading("test", structuredClone(alone(made).pack()));
  const later = eventLine({ k: "mark", t: 2_000, id: "b", at: 100, label: "later" });
  reading.push(new TextEncoder().encode(later));
  reading.finish();
  expect(reading.marks.map(({ id }) => id)).toEqual(["b"]);
  expect(reading.info("oil-film").name).toBe("oil-film");
  expect(reading.lastTime).toBe(alone(made).lastTime);
});
