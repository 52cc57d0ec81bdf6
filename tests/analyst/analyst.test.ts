/** One analyst a recording: what it says of a file that grew is what the rooms below say of the whole. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { eventLine } from "../../shared/recording/format.ts";
import { Analyst } from "../../src/analyst/index.ts";
import { advise } from "../../src/interpret/causes/advice.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import { regimeSpans } from "../../src/interpret/folds/regimeSpans.ts";
import { interpret } from "../../src/interpret/index.ts";
import { headlineOf } from "../../src/interpret/report/headline.ts";
import { Reading } from "../../src/reading/index.ts";

const sample = (name: string): Uint8Array =>
  gunzipSync(readFileSync(join(import.meta.dirname, "../../recordings", name)));

function alone(bytes: Uint8Array): Reading {
  const reading = new Reading("whole");
  reading.push(bytes);
  reading.finish();
  return reading;
}

test.each(["truck-cranks-slowly.ndjson.gz"])(
  "%s, followed as it grew and asked now and then, ends as the whole file",
  (name) => {
    const bytes = sample(name);
    const live = new Analyst(name);
    const piece = Math.ceil(bytes.length / 60);
    let cranks = 0;
    for (let at = 0; at < bytes.length; at += piece) {
      live.push(bytes.subarray(at, at + piece));
      live.spans();
      if (live.crank(live.reading.lastTime) !== null) cranks += 1;
      if (at % (piece * 7) === 0) expect(live.findings().until).toBeLessThanOrEqual(live.reading.lastTime);
    }
    expect(live.behind).toBe(true);
    live.finish();
    const reading = alone(bytes);
    const findings = interpret(reading);
    expect(JSON.stringify(live.findings())).toBe(JSON.stringify(findings));
    expect(live.behind).toBe(false);
    expect(live.spans()).toEqual(regimeSpans(reading.channels, reading.lastTime));
    expect(cranks).toBeGreaterThan(0);
    const complaints = live.complaints();
    expect(complaints).toEqual(complaintsOf(findings));
    const heard = [{ recording: name, started: reading.header?.started ?? "", findings }];
    const expected = advise({ complaints, facts: reading.facts.vehicle ?? {}, heard });
    expect(live.advice()).toEqual(expected);
    expect(live.headline(expected)).toEqual(headlineOf(findings, expected));
  },
);

test("facts that are put in place of the recording's own change what is found, and can be taken back", () => {
  const bytes = sample("truck-cranks-slowly.ndjson.gz");
  const analyst = new Analyst("truck");
  analyst.push(bytes);
  analyst.finish();
  const reading = alone(bytes);
  const own = interpret(reading);
  expect(analyst.findings()).toEqual(own);
  const vehicle = { ...reading.facts.vehicle, idleRpm: 1900, cylinders: 3 };
  analyst.readBy({ facts: (recorded) => ({ ...recorded, vehicle }) });
  expect(analyst.behind).toBe(true);
  const other = interpret(reading, vehicle);
  expect(other).not.toEqual(own);
  expect(analyst.findings()).toEqual(other);
  expect(analyst.spans()).toEqual(regimeSpans(reading.channels, reading.lastTime, vehicle));
  analyst.readBy({});
  expect(analyst.findings()).toEqual(own);
});

test("a mark that is added when it is whole is taken in", () => {
  const analyst = new Analyst("truck");
  analyst.push(sample("truck-cranks-slowly.ndjson.gz"));
  analyst.finish();
  analyst.findings();
  const line = eventLine({ k: "mark", t: 1, id: "later", at: 100, label: "later" });
  analyst.push(new TextEncoder().encode(line));
  analyst.finish();
  expect(analyst.behind).toBe(true);
  expect(analyst.findings()).toEqual(interpret(analyst.reading));
  expect(analyst.reading.marks.map(({ id }) => id)).toContain("later");
});
