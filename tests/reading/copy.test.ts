/** What another thread sees of a recording is what was read of it. */
import fc from "fast-check";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { eventLine, headerLine, type RecordingEvent } from "../../shared/recording/format.ts";
import { NewsOf, ReadCopy, Reading, type Read } from "../../src/reading/index.ts";
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

/** All that may be asked of it. */
function told(read: Read): unknown {
  const {
    gaps,
    notices,
    answers,
    broken,
    links,
    header,
    facts,
    protocol,
    modules,
    marks,
    lastTime,
    invented,
  } = read;
  return {
    ...{ gaps, notices, answers, broken, links, header, facts, protocol, marks, lastTime, invented },
    modules: [...modules].map(([module, pids]) => [module, [...pids]]),
    infos: [...read.channels.channels, crankCounter.channel, "none"].map((channel) => read.info(channel)),
    series: read.channels.all().map((s) => [s.channel, s.module, [...s.times], [...s.values], s.answered]),
  };
}

const made = new TextEncoder().encode(
  `${headerLine({ ...header, protocol: "can11-500" })}{\n${events.map(eventLine).join("")}{"t":990,"k"`,
);
const sample = gunzipSync(
  readFileSync(join(import.meta.dirname, "../../recordings/hatch-fires-and-chokes.ndjson.gz")),
);

test.each([
  ["of everything there can be", made, 200],
  ["of a sample", sample, 20],
])("a recording %s, seen at any bytes, is seen as it was read", (_, bytes, numRuns) => {
  fc.assert(
    fc.property(fc.array(fc.nat(bytes.length), { maxLength: 5 }), (places) => {
      const reading = new Reading("test");
      const news = new NewsOf(reading);
      const copy = new ReadCopy();
      let from = 0;
      for (const at of [...places.sort((a, b) => a - b), bytes.length]) {
        reading.push(bytes.subarray(from, at));
        from = at;
        if (at === bytes.length) reading.finish();
        copy.take(structuredClone(news.next()));
        expect(told(copy)).toEqual(told(reading));
      }
    }),
    { numRuns },
  );
});

test("nothing is sent twice, and nothing but readings where only readings came", () => {
  const reading = new Reading("test");
  const news = new NewsOf(reading);
  reading.push(made);
  expect(news.next().told?.notices.length).toBeGreaterThan(0);
  expect(news.next()).toEqual({
    lastTime: reading.lastTime,
    tails: [],
    columns: new Float64Array(0),
    told: null,
  });
  reading.event(asked(1000, "010C1", "7E8 04 41 0C 12 13"));
  const { tails, columns, told: rest } = news.next();
  expect(tails).toHaveLength(1);
  expect([...columns]).toEqual([1010, 1156.75]);
  expect(rest).toBeNull();
});
