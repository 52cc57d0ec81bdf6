import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { eventLine, headerLine, type Header, type RecordingEvent } from "../../shared/recording/format.ts";
import { RecordingReader, type ReaderSink } from "../../shared/recording/reader.ts";
import { anyEvent } from "./anyEvent.ts";

const header: Header = {
  format: "crankside-recording",
  version: 1,
  started: "2024-03-02T09:00:00.000+01:00",
  from: "tcp:127.0.0.1:35000",
  adapter: null,
  protocol: "can11-500",
  vehicle: { name: "Wagen, grün" },
  invented: true,
  writer: "test",
};

/** Everything that a sink heard, in order. */
type Heard = readonly unknown[];

function listening(): { sink: ReaderSink; heard: unknown[] } {
  const heard: unknown[] = [];
  return {
    heard,
    sink: {
      header: (h) => heard.push({ header: h }),
      event: (event, line) => heard.push({ event, line }),
      unknown: (event, line) => heard.push({ unknown: event, line }),
      notice: (notice) => heard.push({ notice }),
    },
  };
}

function read(chunks: readonly string[]): Heard {
  const { sink, heard } = listening();
  const reader = new RecordingReader(sink, "test");
  for (const chunk of chunks) reader.push(chunk);
  reader.finish();
  return heard;
}

function eventsOf(heard: Heard): RecordingEvent[] {
  return heard.flatMap((h) =>
    typeof h === "object" && h !== null && "event" in h ? [h.event as RecordingEvent] : [],
  );
}

function noticesOf(heard: Heard): { line: number; text: string; lost: boolean }[] {
  return heard.flatMap((h) =>
    typeof h === "object" && h !== null && "notice" in h
      ? [h.notice as { line: number; text: string; lost: boolean }]
      : [],
  );
}

const events: readonly RecordingEvent[] = [
  { k: "link", t: 0, state: "opened" },
  { k: "x", t: 10.5, ask: "010C1", lines: ["7E8 04 41 0C 1A F8", "\u0000\u00ff"], first: 18.4, end: 21 },
  { k: "x", t: 40, ask: "010D1", lines: [], first: null, end: null, err: "silent" },
  { k: "mark", t: 60, id: "m1", at: 50, until: 55, label: "Öl 🔧 nachgefüllt" },
  { k: "s", t: 70, ch: "coolant", v: null, u: "°C" },
  { k: "facts", t: 80, facts: { complaint: "startet nicht", vehicle: { cylinders: 4 } } },
  { k: "end", t: 90, sha256: "0".repeat(64) },
];
const good = headerLine(header) + events.map(eventLine).join("");

test("a good file comes back as it was written", () => {
  const heard = read([good]);
  expect(heard[0]).toEqual({ header });
  expect(eventsOf(heard)).toEqual(events);
  expect(noticesOf(heard)).toEqual([]);
});

test("cut at every byte, every whole line comes back, and at most a torn one is told", () => {
  const bytes = new TextEncoder().encode(good);
  const ends = [...bytes.keys()].filter((i) => bytes[i] === 0x0a);
  const headerEnd = ends[0] ?? 0;
  for (let keep = headerEnd; keep <= bytes.length; keep++) {
    const decoder = new TextDecoder("utf-8");
    const heard = read([decoder.decode(bytes.subarray(0, keep), { stream: true }), decoder.decode()]);
    // A line without its line feed is whole when nothing else is missing.
    const whole = ends.filter((end) => end <= keep).length - 1;
    expect(eventsOf(heard)).toEqual(events.slice(0, whole));
    const isTorn = !ends.some((end) => end === keep || end + 1 === keep);
    expect(noticesOf(heard), `${keep} bytes`).toHaveLength(isTorn ? 1 : 0);
    if (isTorn) expect(noticesOf(heard)[0]).toMatchObject({ line: whole + 2, lost: true });
  }
  for (let keep = 0; keep < headerEnd; keep++) {
    const text = new TextDecoder("utf-8").decode(bytes.subarray(0, keep));
    expect(() => read([text])).toThrow(expect.objectContaining({ code: "not-a-recording" }));
  }
});

/** Lines of every sort, good and bad. */
const anyLine = fc.oneof(
  { weight: 4, arbitrary: anyEvent.map((event) => eventLine(event).slice(0, -1)) },
  fc.constantFrom(
    "",
    "{",
    "null",
    "[]",
    "3",
    '"x"',
    '{"t":1}',
    '{"k":"x"}',
    '{"t":-1,"k":"x"}',
    '{"t":1,"k":"weather"}',
  ),
  fc.string({ unit: "binary", maxLength: 30 }).map((text) => text.replaceAll("\n", "")),
);
const anyFile = fc
  .tuple(
    fc.array(fc.tuple(anyLine, fc.constantFrom("\n", "\r\n")), { maxLength: 12 }),
    fc.string({ maxLength: 20 }),
  )
  .map(([lines, tail]) => headerLine(header) + lines.map(([line, end]) => line + end).join("") + tail);

function split(text: string, cuts: readonly number[]): string[] {
  const at = [...new Set(cuts.map((cut) => cut % (text.length + 1)))].sort((a, b) => a - b);
  return [...at, text.length].map((end, i) => text.slice(i === 0 ? 0 : at[i - 1], end));
}

test("how the text is cut into chunks never matters", () => {
  fc.assert(
    fc.property(anyFile, fc.array(fc.nat(3000), { maxLength: 10 }), (text, cuts) => {
      const whole = read([text]);
      expect(read(split(text, cuts))).toEqual(whole);
      expect(read(Array.from({ length: text.length }, (_, i) => text.charAt(i)))).toEqual(whole);
      expect(read(["", text, ""])).toEqual(whole);
    }),
    { numRuns: 150 },
  );
});

test("how the bytes are cut never matters, nor that their memory is used again", () => {
  fc.assert(
    fc.property(anyFile, fc.integer({ min: 1, max: 400 }), (text, size) => {
      const bytes = new TextEncoder().encode(text);
      const { sink, heard } = listening();
      const reader = new RecordingReader(sink, "test");
      const room = new Uint8Array(size);
      for (let from = 0; from < bytes.length; from += size) {
        const piece = bytes.subarray(from, from + size);
        room.set(piece);
        reader.push(room.subarray(0, piece.length));
        room.fill(0x0a);
      }
      reader.finish();
      expect(heard).toEqual(read([text]));
    }),
    { numRuns: 150 },
  );
});

test("every line is an event, unknown, blank or told as wrong: nothing vanishes", () => {
  fc.assert(
    fc.property(anyFile, (text) => {
      const lines = text.split("\n").slice(1);
      const filled = lines.filter((line) => line !== "" && line !== "\r").length;
      expect(read([text]).length - 1).toBe(filled);
    }),
  );
});

test("lines that end in CR LF read the same", () => {
  expect(read([good.replaceAll("\n", "\r\n")])).toEqual(read([good]));
  expect(read([`\uFEFF${good}`])).toEqual(read([good]));
});

test("wrong lines are told with number and reason, and the others kept", () => {
  const lines = good.split("\n").slice(0, -1);
  lines.splice(2, 0, "not JSON", "{}", '{"t":5,"k":"mark","id":"m","at":"soon","label":""}', "");
  const heard = read([`${lines.join("\n")}\n`]);
  expect(eventsOf(heard)).toEqual(events);
  expect(noticesOf(heard).map((n) => n.line)).toEqual([3, 4, 5]);
  expect(noticesOf(heard).every((n) => n.lost)).toBe(true);
  expect(noticesOf(heard)[2]?.text).toContain("at");
});

test("unknown kinds are handed on with all their fields", () => {
  const heard = read([`${headerLine(header)}{"t":1,"k":"weather","sky":{"blue":true}}\n`]);
  expect(heard[1]).toEqual({ unknown: { t: 1, k: "weather", sky: { blue: true } }, line: 2 });
  expect(noticesOf(heard)).toEqual([]);
});

describe("lines longer than any writer makes", () => {
  const limit = 4 * 1024 * 1024;
  const before = headerLine(header) + eventLine({ k: "stray", t: 1, text: "before" });
  const after = eventLine({ k: "stray", t: 2, text: "after" });
  const long = (length: number): string => {
    const frame = eventLine({ k: "stray", t: 1, text: "" }).length - 1;
    return eventLine({ k: "stray", t: 1, text: "x".repeat(length - frame) });
  };

  test.each([
    ["at the limit", limit, "\n", true],
    ["at the limit, CR LF", limit, "\r\n", true],
    ["beyond it", limit + 1, "\n", false],
    ["beyond it, CR LF", limit + 1, "\r\n", false],
    ["far beyond it", limit + 100_000, "\n", false],
  ])("%s", (_, length, end, isTaken) => {
    const text = before + long(length).slice(0, -1) + end + after;
    const whole = read([text]);
    for (const size of [1_000_003, limit, limit + 1, limit + before.length]) {
      const chunks = Array.from({ length: Math.ceil(text.length / size) }, (__, i) =>
        text.slice(i * size, (i + 1) * size),
      );
      const heard = read(chunks);
      expect(heard.length).toBe(whole.length);
      expect(noticesOf(heard)).toEqual(noticesOf(whole));
    }
    expect(eventsOf(whole)).toHaveLength(isTaken ? 3 : 2);
    expect(noticesOf(whole)).toHaveLength(isTaken ? 0 : 1);
    if (!isTaken) expect(noticesOf(whole)[0]).toMatchObject({ line: 3, lost: true });
    expect(eventsOf(whole).at(-1)).toEqual({ k: "stray", t: 2, text: "after" });
  });

  test("as a header, it is no recording, before it is read to the end", () => {
    const { sink } = listening();
    const reader = new RecordingReader(sink, "test");
    expect(() => {
      for (let i = 0; i < 6; i++) reader.push("x".repeat(1024 * 1024));
    }).toThrow(expect.objectContaining({ code: "not-a-recording" }));
    expect(() => read([headerLine(header).slice(0, -1) + " ".repeat(limit + 10)])).toThrow(
      expect.objectContaining({ code: "not-a-recording" }),
    );
  });
});
