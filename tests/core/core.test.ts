/** The library's door: what it says is what the rooms behind it say. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { decode, noteHtml, Recording } from "../../src/core/index.ts";
import { Analyst } from "../../src/analyst/index.ts";
import { findingsText } from "../../src/interpret/index.ts";
import { jobText, newJob } from "../../src/sheet/job.ts";

const bytes = gunzipSync(
  readFileSync(join(import.meta.dirname, "../../recordings/truck-cranks-slowly.ndjson.gz")),
);

function opened(options: ConstructorParameters<typeof Recording>[0] = {}): Recording {
  const recording = new Recording(options);
  recording.push(bytes.subarray(0, 100_000));
  expect(recording.spans.length).toBeGreaterThan(0);
  recording.push(bytes.subarray(100_000));
  recording.finish();
  return recording;
}

test("a recording says what its analyst says", () => {
  const recording = opened();
  const analyst = new Analyst("recording");
  analyst.push(bytes);
  analyst.finish();
  expect(recording.findings()).toEqual(analyst.findings());
  expect(recording.advice()).toEqual(analyst.advice());
  expect(recording.headline("us")).toEqual(analyst.headline(analyst.advice(), "us"));
  expect(recording.findingsText("us", true)).toBe(findingsText(analyst.findings(), "us", true));
  expect(recording.spans).toEqual(analyst.spans());
  const { reading } = analyst;
  expect(recording.channels.map(({ channel, times }) => [channel, times.length])).toEqual(
    reading.channels.all().map(({ channel, times }) => [channel, times.length]),
  );
  const { started, lengthMs, invented, notices } = recording;
  expect({ started, lengthMs, invented, notices }).toEqual({
    started: reading.header?.started,
    lengthMs: reading.lastTime,
    invented: true,
    notices: [],
  });
});

test("facts that are given go before the recording's own; what are none is refused", () => {
  const vehicle = { idleRpm: 1900, cylinders: 3 };
  expect(opened({ vehicle }).findings()).not.toEqual(opened().findings());
  expect(() => new Recording({ vehicle: { cylinders: "four" } })).toThrow("vehicle facts");
  expect(() => new Recording({ vehicle: { colour: "red" } })).toThrow("vehicle facts");
});

test("what is no recording is refused with the code", () => {
  const recording = new Recording();
  expect(() => recording.push(new TextEncoder().encode("hello\n"))).toThrow("not a recording");
});

test("a reply to service 01 is decoded by its number", () => {
  // SAE J1979: engine speed is 256 A + B in quarters of a turn a minute.
  expect(decode(0x0c, Uint8Array.of(0x1a, 0xf8))).toEqual([
    { channel: "engine-speed", name: "Engine speed", unit: "rpm", value: 1726 },
  ]);
  expect(decode(0xff, Uint8Array.of(1))).toEqual([]);
});

test("the note of a job names its vehicle", () => {
  const job = { ...newJob("a", "2026-01-05T08:00:00+01:00"), vehicle: { name: "Truck <7>" } };
  const html = noteHtml(jobText(job), {
    made: "2026-01-06T08:00:00+01:00",
    recordingOf: () => opened(),
    part: "annex",
  });
  expect(html).toContain("Repair note: Truck &lt;7&gt;");
  expect(() => noteHtml("{}", { made: "", recordingOf: () => "missing" })).toThrow();
});
