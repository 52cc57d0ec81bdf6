/** A recording that holds what a person defined is read by that, from its text alone. */
import { describe, expect, test } from "vitest";
import { eventLine, headerLine, type Header, type RecordingEvent } from "../../shared/recording/format.ts";
import { Reading } from "../../src/reading/index.ts";
import { crankCounter, pressure } from "../support/defined.ts";
import { asked } from "./support.ts";

const header: Header = {
  format: "crankside-recording",
  version: 1,
  started: "2024-05-31T07:04:05.000+02:00",
  from: "tcp:127.0.0.1:1",
  adapter: null,
  protocol: "can11-500",
  vehicle: {},
  invented: true,
  writer: "test",
};

function read(events: readonly RecordingEvent[]): Reading {
  const reading = new Reading("test");
  reading.push(headerLine(header) + events.map(eventLine).join(""));
  reading.finish();
  return reading;
}

const defined = (t: number, ...parameters: (typeof pressure)[]): RecordingEvent => ({
  k: "defined",
  t,
  parameters,
});
const points = (reading: Reading, channel: string, module?: string): [number, number][] => {
  const series = reading.channels.find(channel, module);
  return [...(series?.times ?? [])].map((t, i) => [t, series?.values[i] ?? Number.NaN]);
};

describe("a counter", () => {
  test("its steps a second, past the roll-over", () => {
    const reading = read([
      defined(0, crankCounter),
      asked(100, "221101", "7E8 05 62 11 01 FF F0"),
      // 32 steps in half a second.
      asked(600, "2211011", "7E8056211010010"),
    ]);
    expect(points(reading, "crank-signal")).toEqual([
      [110, 65_520],
      [610, 16],
    ]);
    expect(points(reading, "crank-signal-rate")).toEqual([[610, 64]]);
    expect(reading.info("crank-signal-rate")).toMatchObject({ unit: "1/s" });
    expect(reading.info("crank-signal")).toMatchObject({ unit: "count", name: "Crankshaft signal counter" });
    expect(reading.notices).toEqual([]);
  });

  test("a module that began anew leaves a hole, not a spike", () => {
    const reading = read([
      defined(0, crankCounter),
      asked(100, "221101", "7E8 05 62 11 01 10 00"),
      asked(200, "221101", "7E8 05 62 11 01 00 05"),
      asked(300, "221101", "7E8 05 62 11 01 00 0F"),
    ]);
    expect(points(reading, "crank-signal-rate")).toEqual([
      [210, Number.NaN],
      [310, 100],
    ]);
  });

  test("not answered is a hole in both channels, and the steps meanwhile are told over the whole time", () => {
    const reading = read([
      defined(0, crankCounter),
      asked(0, "221101", "7E8 05 62 11 01 00 00"),
      asked(500, "221101", "7E8 05 62 11 01 00 0A"),
      asked(700, "221101", "NO DATA"),
      asked(1500, "221101", "7E8 05 62 11 01 00 1E"),
    ]);
    expect(points(reading, "crank-signal").map(([, v]) => v)).toEqual([0, 10, Number.NaN, 30]);
    expect(points(reading, "crank-signal-rate")).toEqual([
      [510, 20],
      [700, Number.NaN],
      [1510, 20],
    ]);
  });

  test("a lost link is not counted across", () => {
    const reading = read([
      defined(0, crankCounter),
      asked(0, "221101", "7E8 05 62 11 01 00 00"),
      { k: "link", t: 100, state: "lost", why: "test" },
      { k: "link", t: 200, state: "back" },
      asked(300, "221101", "7E8 05 62 11 01 00 0A"),
    ]);
    expect(points(reading, "crank-signal-rate")).toEqual([]);
  });
});

describe("a value", () => {
  test("with a sign, bits across bytes: AB CD is -21.9", () => {
    const reading = read([defined(0, pressure), asked(5, "21A2", "7E8 04 61 A2 AB CD")]);
    const [point] = points(reading, "own-pressure");
    expect(point?.[0]).toBe(15);
    expect(point?.[1]).toBeCloseTo(-21.9, 9);
  });

  test("each module has its own series, unless one was named", () => {
    const both = ["7E8 04 61 A2 00 10", "7E9 04 61 A2 00 20"];
    const all = read([defined(0, pressure), asked(5, "21A2", ...both)]);
    expect(all.channels.of("own-pressure").map(({ module }) => module)).toEqual(["7E8", "7E9"]);
    const one = read([defined(0, { ...pressure, module: "7E9" }), asked(5, "21A2", ...both)]);
    expect(one.channels.of("own-pressure").map(({ module }) => module)).toEqual(["7E9"]);
  });

  test("a service 01 number that the table lacks, read from text in its usual form too", () => {
    const row = { ...pressure, request: "01E1", startBit: 0, length: 8, signed: false, factor: 1, offset: 0 };
    const reading = read([
      asked(0, "01E11", "7E80341E120"),
      defined(1, row),
      asked(5, "01E11", "7E80341E121"),
    ]);
    expect(points(reading, "own-pressure")).toEqual([[15, 0x21]]);
  });

  test("an answer is not kept twice, and a no is no answer", () => {
    const reading = read([defined(0, pressure), asked(5, "21A2", "7E8 03 7F 21 31")]);
    expect(points(reading, "own-pressure")).toEqual([]);
    expect(reading.answers).toEqual([]);
  });

  test("without its definition the reply is kept as an answer", () => {
    const reading = read([asked(5, "21A2", "7E8 04 61 A2 AB CD")]);
    expect(reading.answers).toHaveLength(1);
  });
});

describe("a module by its own addresses", () => {
  const row = {
    ...pressure,
    to: "726",
    from: "72E",
    startBit: 0,
    length: 8,
    signed: false,
    factor: 1,
    offset: 0,
  };
  const body = {
    ...pressure,
    channel: "own-body",
    startBit: 0,
    length: 8,
    signed: false,
    factor: 1,
    offset: 0,
  };

  test("the reply is its own when it was addressed, and all others' when all were", () => {
    const reading = read([
      defined(0, row, body),
      asked(0, "ATSH726", "OK"),
      asked(5, "21A2", "72E 03 61 A2 07"),
      asked(20, "ATSH7DF", "OK"),
      asked(25, "21A2", "7E8 03 61 A2 09"),
    ]);
    expect(points(reading, "own-pressure", "72E")).toEqual([[15, 7]]);
    expect(points(reading, "own-body", "7E8")).toEqual([[35, 9]]);
    expect(reading.channels.of("own-pressure")).toHaveLength(1);
  });

  test("one that was not asked is no hole", () => {
    const reading = read([
      defined(0, row, body),
      asked(0, "ATSH726", "OK"),
      asked(5, "21A2", "72E 03 61 A2 07"),
      asked(20, "ATSH7DF", "OK"),
      asked(25, "21A2", "NO DATA"),
    ]);
    expect(points(reading, "own-pressure")).toEqual([[15, 7]]);
  });

  test("an address byte before each frame's contents is found by itself, or said", () => {
    // Captured: open collection OBDb (CC BY-SA 4.0).
    const lines = ["7582A1007611661625F", "7582A215F0000000000"];
    const tyre = { ...row, request: "2116", to: "750", from: "758", offset: -40 };
    for (const one of [tyre, { ...tyre, extension: "2A" }]) {
      const reading = read([defined(0, one), asked(0, "ATSH750", "OK"), asked(5, "2116", ...lines)]);
      expect(points(reading, "own-pressure", "758")).toEqual([[15, 57]]);
    }
  });
});

test("a frame that announces nine bytes is told, and what came of one parameter is used", () => {
  const nine = (ask: string): RecordingEvent => asked(5, ask, "18DAF11009416801390000AA");
  const long: RecordingEvent = { k: "link", t: 0, state: "protocol", protocol: "can29-500" };
  const reading = read([long, nine("0168"), nine("0168")]);
  expect(points(reading, "intake-air-b1s1", "10")[0]).toEqual([15, 17]);
  expect(reading.notices.map(({ text }) => text)).toEqual([
    "module 10 answered 0168 with a frame that announces 9 bytes and holds 7: what came of it is used",
  ]);
  const both = read([long, nine("01680C")]);
  expect(both.channels.all()).toEqual([]);
  expect(both.notices[0]?.text).toContain("it is not used");
});

test("a person's own meaning of a number or a name goes before a later row of the table", () => {
  const row = {
    ...pressure,
    channel: "rail-actual-a",
    request: "016D",
    startBit: 40,
    length: 8,
    signed: false,
  };
  const reading = read([
    defined(0, { ...row, factor: 1, offset: 0, unit: "ratio" }),
    asked(5, "016D", "7E8 10 0D 41 6D 03 09 C4 09", "7E8 21 C3 05 00 00 00 00 00"),
  ]);
  expect(points(reading, "rail-actual-a")).toEqual([[15, 5]]);
  expect(reading.info("rail-actual-a")).toMatchObject({ unit: "ratio", name: pressure.name });
});
