import fc from "fast-check";
import { expect, test } from "vitest";
import { Reading } from "../../src/reading/index.ts";
import { eventLine, headerLine, type RecordingEvent } from "../../shared/recording/format.ts";
import { socketVoltage } from "../../shared/decode.ts";
import { header } from "./support.ts";

function exchange(
  t: number,
  ask: string,
  lines: readonly string[],
  first: number | null = 10,
): RecordingEvent {
  return { k: "x", t, ask, lines, first, end: first === null ? null : first + 5 };
}

const iso: RecordingEvent = { k: "link", t: 1, state: "protocol", protocol: "iso9141" };
const can: RecordingEvent = { k: "link", t: 1, state: "protocol", protocol: "can11-500" };

function read(events: readonly RecordingEvent[]): Reading {
  const reading = new Reading("test");
  reading.push(headerLine(header));
  for (const event of events) reading.push(eventLine(event));
  reading.finish();
  return reading;
}

function values(reading: Reading, channel: string, module?: string): number[] {
  return [...(reading.channels.find(channel, module)?.values ?? [])];
}

// 48 6B 40 41 0C 0C 97 E3 is printed in "Rangkuman ISO 9141-2 dan ISO 14230" with its checksum: 3223/4 rpm.
test("a checksummed ISO 9141-2 reply becomes a reading at the arrival of its first byte", () => {
  const reading = read([iso, exchange(100, "010C1", ["48 6B 40 41 0C 0C 97 E3"], 38.5)]);
  const series = reading.channels.find("engine-speed");
  expect(series?.module).toBe("40");
  expect([...(series?.times ?? [])]).toEqual([138.5]);
  expect(values(reading, "engine-speed")).toEqual([805.75]);
});

test("a wrong checksum is no reading, and says so", () => {
  const reading = read([iso, exchange(100, "010C1", ["48 6B 40 41 0C 0C 97 E4"])]);
  expect(reading.channels.find("engine-speed")).toBeUndefined();
  expect(reading.discarded.size).toBe(1);
});

// Bytes 7E8 04 41 0C 12 13 from Stack Overflow question 40826932; 4627/4 rpm by hand.
test("two modules answering one request are two series", () => {
  const reading = read([can, exchange(0, "010C2", ["7E8 04 41 0C 12 13", "7E9 04 41 0C 12 10"])]);
  expect(values(reading, "engine-speed", "7E8")).toEqual([1156.75]);
  expect(values(reading, "engine-speed", "7E9")).toEqual([1156]);
});

test("several parameters in one request: each is a reading of its own channel", () => {
  // 0C 0D 05 0B 0F 11 with values by hand; layout of ISO 15765-2, fourteen bytes.
  const reading = read([
    can,
    exchange(0, "010C0D050B0F11", [
      "7E8 10 0E 41 0C 1A F8 0D 00",
      "7E8 21 05 7B 0B 21 0F 3C 11",
      "7E8 22 2B",
    ]),
  ]);
  expect(values(reading, "engine-speed")).toEqual([1726]);
  expect(values(reading, "vehicle-speed")).toEqual([0]);
  expect(values(reading, "coolant")).toEqual([83]);
  expect(values(reading, "manifold")).toEqual([33]);
  expect(values(reading, "intake-air")).toEqual([20]);
  expect(values(reading, "throttle")[0]).toBeCloseTo(16.863, 3);
});

test("asked and not answered is a hole, not a line", () => {
  const reading = read([
    can,
    exchange(0, "010C1", ["7E8 04 41 0C 12 13"]),
    exchange(100, "010C1", ["NO DATA"]),
    exchange(200, "010C1", [], null),
    exchange(300, "010C1", ["7E8 04 41 0C 12 13"]),
  ]);
  expect(values(reading, "engine-speed")).toEqual([1156.75, Number.NaN, Number.NaN, 1156.75]);
  expect(reading.channels.find("engine-speed")?.answered).toBe(2);
});

test("a lost link is a gap with its cause, and breaks every series", () => {
  const reading = read([
    can,
    exchange(0, "ATRV", ["12.4V"]),
    { k: "link", t: 50, state: "lost", why: "unplugged" },
    { k: "link", t: 2050, state: "back" },
    exchange(2100, "ATRV", ["12.3V"]),
  ]);
  expect(reading.gaps).toEqual([{ from: 50, to: 2050, why: "unplugged" }]);
  expect(values(reading, socketVoltage)).toEqual([12.4, Number.NaN, 12.3]);
});

test("a module that announces 1D numbers its oxygen sensors over four banks", () => {
  // 01 00 answered with 15 and 16 and 1D supported: bits 20, 21 and 28 counted from 0 at the top, by hand.
  const map = exchange(0, "0100", ["7E8 06 41 00 00 00 0C 08"]);
  const reading = read([can, map, exchange(50, "01161", ["7E8 04 41 16 5A 80"])]);
  expect(values(reading, "oxygen-b2s1")).toEqual([0.45]);
  expect(reading.channels.find("oxygen-b1s3")).toBeUndefined();
});

test("marks: the latest form counts, a removed one is gone", () => {
  const reading = read([
    { k: "mark", t: 10, id: "a", at: 10, label: "" },
    { k: "mark", t: 20, id: "b", at: 12, label: "relay swapped" },
    { k: "mark", t: 30, id: "a", at: 10, until: 15, label: "fuel added at the intake" },
    { k: "mark", t: 40, id: "b", at: 12, label: "", removed: true },
  ]);
  expect(reading.marks.map((m) => [m.label, m.until])).toEqual([["fuel added at the intake", 15]]);
});

test("what is added after the end does not lengthen the recording", () => {
  const end: RecordingEvent = { k: "end", t: 500, sha256: "0".repeat(64) };
  const reading = read([
    can,
    exchange(400, "ATRV", ["12.4V"]),
    end,
    { k: "mark", t: 86_400_000, id: "a", at: 300, label: "later" },
  ]);
  expect(reading.lastTime).toBe(415);
});

test("readings out of order are dropped, told once, and harm nothing else", () => {
  const sample = (t: number, v: number): RecordingEvent => ({ k: "s", t, ch: "engine-speed", v, u: "rpm" });
  const reading = read([sample(100, 700), sample(50, 710), sample(60, 720), sample(200, 730)]);
  expect(values(reading, "engine-speed")).toEqual([700, 730]);
  expect(reading.notices.filter((n) => n.lost)).toHaveLength(1);
});

test("any chunking of the text gives the same reading", () => {
  const text =
    headerLine(header) +
    [can, exchange(0, "ATRV", ["12.4V"]), exchange(20, "010C2", ["7E8 04 41 0C 12 13", "7E9 04 41 0C 12 10"])]
      .map(eventLine)
      .join("");
  const whole = new Reading("test");
  whole.push(text);
  whole.finish();
  fc.assert(
    fc.property(fc.array(fc.nat(text.length), { maxLength: 12 }), (cuts) => {
      const reading = new Reading("test");
      let from = 0;
      for (const cut of [...cuts.toSorted((a, b) => a - b), text.length]) {
        reading.push(text.slice(from, cut));
        from = Math.max(from, cut);
      }
      reading.finish();
      expect(reading.channels.all().map((s) => [s.channel, s.module, [...s.times], [...s.values]])).toEqual(
        whole.channels.all().map((s) => [s.channel, s.module, [...s.times], [...s.values]]),
      );
    }),
  );
});
