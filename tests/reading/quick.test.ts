/** The quick way through a recording and the thorough one find the same, whatever stands in the lines. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { QuickReply, readReply, type Piece } from "../../adapters/framing/index.ts";
import { readAny } from "../../adapters/framing/readReply.ts";
import { hear, type HeardReply } from "../../adapters/polling/heard.ts";
import { protocolIds, type ProtocolId } from "../../shared/protocols.ts";
import { eventLine, headerLine, type ExchangeEvent, type Header } from "../../shared/recording/format.ts";
import { ExchangeScan } from "../../shared/recording/scan.ts";
import { Reading } from "../../src/reading/index.ts";

/** Replies from trade literature and from the tables of ISO 15765-2, by the protocols they are good on. */
const replies: readonly (readonly [readonly ProtocolId[], string, readonly string[]])[] = [
  [["can11-500", "can11-250"], "010C1", ["7E8 04 41 0C 1A F8"]],
  [["can11-500", "can11-250"], "010C", ["7E8 04 41 0C 12 13", "7E9 04 41 0C 12 10"]],
  [["can11-500"], "0104", ["7E803410455AAAAAAAA"]],
  [["can11-500"], "010C0D0511", ["7E8 10 0A 41 0C 1A F8 0D 20", "7E8 21 05 7B 11 2B 00 00 00 "]],
  [
    ["can11-500"],
    "010C0D0511",
    ["7E8 10 0A 41 0C 1A F8 0D 20", "7E9 04 41 0C 12 10", "7E8 21 05 7B 11 2B 00 00 00"],
  ],
  [["can11-500"], "0114", ["7E8 04 41 14 5A FF"]],
  [["can11-500"], "0100", ["7E8 06 41 00 BE 3F A8 13"]],
  [["can11-500"], "011D", ["7E8 06 41 00 BE 1F A8 1B"]],
  [
    ["can11-500"],
    "0902",
    ["7E8 10 14 49 02 01 31 4D 38", "7E8 21 47 44 4D 39 41 58 4B", "7E8 22 50 30 34 32 37 38 38"],
  ],
  [["can29-500"], "010C", ["18 DA F1 10 04 41 0C 1A F8", "18DAF11804410C1200"]],
  [["iso9141"], "010C", ["48 6B 40 41 0C 0C 97 E3"]],
  [["vpw"], "010C", ["48 6B 10 41 0C 1A F8 B2"]],
  [["pwm"], "010C", ["41 6B 10 41 0C 1A F8 3D"]],
  [["kwp-slow", "kwp-fast"], "010C", ["84 F1 10 41 0C 1A F8 E4", "80 F1 10 04 41 0C 1A F8 E4"]],
  [["can11-500", "vpw"], "010C", ["NO DATA"]],
  [["can11-500", "vpw"], "010C", []],
  [["can11-500"], "010C", ["SEARCHING...", "7E8 04 41 0C 1A F8"]],
  [["can11-500"], "ATRV", ["12.4V"]],
  [["can11-500"], "ATRV", ["9.05"]],
  [["can11-500"], "ATZ", ["ELM327 v1.5"]],
];

const characters = Array.from('0123456789ABCDEFabcdef 7E8."\\V\u00b0\0');

/** Lines with a character taken out, put in, doubled or changed, a line lost or told twice. */
const damaged = (lines: readonly string[]): fc.Arbitrary<string[]> =>
  fc
    .array(
      fc.record({
        how: fc.constantFrom("drop", "put", "change", "lose", "twice", "swap"),
        line: fc.nat(3),
        at: fc.nat(30),
        character: fc.constantFrom(...characters),
      }),
      { maxLength: 2 },
    )
    .map((acts) => {
      const out = [...lines];
      for (const { how, line, at, character } of acts) {
        const i = out.length === 0 ? 0 : line % out.length;
        const text = out[i] ?? "";
        const place = text.length === 0 ? 0 : at % text.length;
        if (how === "drop") out[i] = text.slice(0, place) + text.slice(place + 1);
        else if (how === "put") out[i] = text.slice(0, place) + character + text.slice(place);
        else if (how === "change") out[i] = text.slice(0, place) + character + text.slice(place + 1);
        else if (how === "lose") out.splice(i, 1);
        else if (how === "twice") out.splice(i, 0, text);
        else out.reverse();
      }
      return out;
    });

const anyReply = fc.constantFrom(...replies).chain(([good, ask, lines]) =>
  fc.record({
    protocol: fc.oneof(
      { weight: 4, arbitrary: fc.constantFrom(...good) },
      { weight: 1, arbitrary: fc.constantFrom(...protocolIds) },
    ),
    ask: fc.oneof(
      { weight: 4, arbitrary: fc.constant(ask) },
      fc.constantFrom("010C", "01", "010C0C", "03", "1C"),
    ),
    lines: fc.oneof(fc.constant([...lines]), damaged(lines)),
  }),
);

test("a reply that is read quickly comes apart as any reply does", () => {
  let quickly = 0;
  const plain = (pieces: readonly Piece[]): unknown =>
    pieces.map((piece) => (piece.kind === "message" ? { ...piece, data: [...piece.data] } : piece));
  fc.assert(
    fc.property(anyReply, fc.constantFrom(true, undefined), ({ protocol, lines }, headersOn) => {
      if (new QuickReply().pieces(lines, protocol) !== null) quickly += 1;
      expect(plain(readReply(lines, protocol, headersOn))).toEqual(
        plain(readAny(lines, protocol, headersOn)),
      );
    }),
    { numRuns: 4000 },
  );
  expect(quickly).toBeGreaterThan(1000);
});

test("where headers are off, or other modules are meant, nothing is read quickly", () => {
  expect(readReply(["48 6B 10 41 0C 1A F8 B2"], "vpw", false)).toEqual(
    readAny(["48 6B 10 41 0C 1A F8 B2"], "vpw", false),
  );
  const others = { ids: new Set(["7E8"]), addressed: true };
  expect(readReply(["7E8 F1 03 41 0D 20"], "can11-500", true, others)).toMatchObject([
    { kind: "message", data: Uint8Array.of(0x41, 0x0d, 0x20) },
  ]);
});

test("what the polling hears in a reply is the same in small letters, which are never read quickly", () => {
  let answered = 0;
  const plain = (heard: HeardReply): unknown => ({
    ...heard,
    answers: heard.answers.map(({ module, pid, data }) => [module, pid, ...data]),
    modules: [...heard.modules],
  });
  fc.assert(
    fc.property(anyReply, ({ protocol, ask, lines }) => {
      const pids = /^01(?:..)+/.exec(ask)?.[0].slice(2).match(/../g) ?? ["0C"];
      const asked = pids.map((pid) => Number.parseInt(pid, 16));
      const heard = hear(lines, asked, protocol);
      const small = [...lines].map((line) => line.toLowerCase());
      if (heard.answers.length > 0) answered += 1;
      expect(plain(heard)).toEqual(plain(hear(small, asked, protocol)));
    }),
    { numRuns: 4000 },
  );
  expect(answered).toBeGreaterThan(1000);
});

const header: Header = {
  format: "crankside-recording",
  version: 1,
  started: "2026-01-05T08:00:00.000+01:00",
  from: "test",
  adapter: null,
  protocol: null,
  vehicle: {},
  invented: true,
  writer: "test",
};

/** Everything that a reading tells, as plain values. */
function told(reading: Reading): unknown {
  return {
    series: reading.channels.all().map((s) => [s.channel, s.module, [...s.times], [...s.values]]),
    answers: reading.answers.map((a) => [a.t, a.module, a.ask, [...a.data]]),
    discarded: [...reading.discarded],
    counts: [...reading.counts],
    notices: reading.notices.map((n) => n.text),
    modules: [...reading.modules].map(([module, pids]) => [module, [...pids]]),
    lastTime: reading.lastTime,
    ended: reading.ended,
  };
}

const delay = fc.oneof(
  fc.constant(null),
  fc.nat(4000).map((n) => n / 1000),
);

test("a recording read from its text tells the same as its events taken one by one", () => {
  const exchanges = fc.array(fc.record({ reply: anyReply, wait: fc.nat(50_000), first: delay, end: delay }), {
    minLength: 1,
    maxLength: 25,
  });
  fc.assert(
    fc.property(fc.constantFrom(...protocolIds, null), exchanges, (only, chosen) => {
      const fromText = new Reading("test");
      const byEvents = new Reading("test");
      for (const reading of [fromText, byEvents]) reading.push(headerLine(header));
      let t = 0;
      let protocol: ProtocolId | null = null;
      for (const { reply, wait, first, end } of chosen) {
        // Mostly the bus that the reply is good on; a fixed one makes its lines foreign.
        const bus = only ?? reply.protocol;
        t += wait / 1000;
        if (bus !== protocol) {
          protocol = bus;
          const link = { k: "link", t, state: "protocol", protocol: bus } as const;
          fromText.push(eventLine(link));
          byEvents.event(JSON.parse(eventLine(link)) as typeof link);
        }
        const event: ExchangeEvent = { k: "x", t, ask: reply.ask, lines: reply.lines, first, end };
        const line = eventLine(event);
        fromText.push(line);
        byEvents.event(JSON.parse(line) as ExchangeEvent);
      }
      expect(told(fromText)).toEqual(told(byEvents));
    }),
    { numRuns: 500 },
  );
});

test("a line that is scanned says what its JSON says, and a line with anything changed is left alone or says the same", () => {
  const line =
    '{"t":123.456,"k":"x","ask":"010C1","lines":["7E8 04 41 0C","ab"],"first":0.25,"end":null,"err":"cut"}';
  const scan = new ExchangeScan();
  const encoder = new TextEncoder();
  let scanned = 0;
  fc.assert(
    fc.property(
      fc.option(fc.record({ at: fc.nat(line.length), drop: fc.nat(2), put: fc.string({ maxLength: 2 }) })),
      fc.oneof(
        fc.double({ min: 0, max: 1e9, noNaN: true }),
        fc.tuple(fc.nat(), fc.nat(9)).map(([n, decimals]) => n / 10 ** decimals),
      ),
      (change, t) => {
        const timed = line.replace("123.456", String(t));
        const text =
          change === null
            ? timed
            : timed.slice(0, change.at) + change.put + timed.slice(change.at + change.drop);
        const bytes = encoder.encode(`xx${text}\n`);
        // A line feed that was put in ends the line.
        const whole = text.split("\n")[0] ?? "";
        if (scan.scan(bytes, 2) !== 2 + encoder.encode(whole).length) return;
        scanned += 1;
        const { lineFrom, lineTo } = scan;
        const event = JSON.parse(whole) as ExchangeEvent;
        const said = (from = 0, to = 0): string => new TextDecoder().decode(bytes.subarray(from, to));
        const lines = Array.from({ length: scan.lines }, (_, i) => said(lineFrom[i], lineTo[i]));
        expect(said(scan.askFrom, scan.askTo)).toBe(event.ask);
        expect([scan.t, lines]).toEqual([event.t, event.lines]);
        expect([scan.first, scan.end]).toEqual([event.first ?? Number.NaN, event.end ?? Number.NaN]);
      },
    ),
    { numRuns: 3000 },
  );
  expect(scanned).toBeGreaterThan(100);
  expect(scan.scan(encoder.encode(`${line}\n`), 0)).toBe(line.length);
});
