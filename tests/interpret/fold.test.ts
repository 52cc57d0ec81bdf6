/** The reading is a fold: any chunks, live or from a file, in any order of channels within one instant, end the same. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  eventLine,
  formatName,
  formatVersion,
  headerLine,
  type RecordingEvent,
} from "../../shared/recording/format.ts";
import {
  findingsSchema,
  findingsText,
  Interpreter,
  interpret,
  type Findings,
} from "../../src/interpret/index.ts";
import { textWidth } from "../../src/interpret/report/text.ts";
import { Reading } from "../../src/reading/index.ts";
import { but, crank, drive, eventsOf, idle, keyOn, script, type Stretch } from "./scenes.ts";

const trims = (short: number, loop = 2): Stretch["channels"] => ({
  "trim-short-b1": (s) => short + (Math.floor(s * 3) % 5) * 0.78125,
  "trim-long-b1": () => 1.5625,
  "fuel-system-1": () => loop,
  "air-flow": (s) => 4 + (s % 9),
  "oxygen-b1s1": (s) => (Math.floor(s * 2) % 2 === 0 ? 0.1 : 0.8),
  "socket-voltage": () => 12.4,
  "my-counter": (s) => Math.floor(s * 7) % 256,
});
const kinds = {
  "key-on": (s: number) => but(keyOn(s), trims(0, 0)),
  crank: (s: number) => but(crank(s), trims(0, 0)),
  dead: (s: number) => but(crank(s, 0, 9.9), trims(0, 0)),
  idle: (s: number) => but(idle(s), trims(4)),
  rough: (s: number) => but(idle(s), { ...trims(4), "engine-speed": (t) => 700 + 40 * Math.sin(t * 9) }),
  drive: (s: number) => but(drive(s), trims(-3)),
} satisfies Record<string, (seconds: number) => Stretch>;

const recordingArb = fc
  .record({
    parts: fc.array(
      fc.record({
        kind: fc.constantFrom(...(Object.keys(kinds) as (keyof typeof kinds)[])),
        seconds: fc.integer({ min: 2, max: 40 }),
      }),
      { minLength: 1, maxLength: 6 },
    ),
    rate: fc.constantFrom(0.6, 3),
    together: fc.boolean(),
    spoil: fc.array(fc.record({ at: fc.nat(), value: fc.constantFrom(Number.NaN, 0, 9, 5000) }), {
      maxLength: 6,
    }),
    marks: fc.array(
      fc.record({
        at: fc.integer({ min: 0, max: 60_000 }),
        length: fc.integer({ min: 1000, max: 20_000 }),
        label: fc.constantFrom("cylinder 1 unplugged", "cylinder 2 off", "fuel added", "cranking"),
      }),
      { maxLength: 4 },
    ),
    facts: fc.constantFrom({}, { idleRpm: 700, cylinders: 4 }, { fuel: "diesel" as const }),
  })
  .map(({ parts, rate, together, spoil, marks, facts }) => {
    const { samples } = script(
      parts.map((p) => kinds[p.kind](p.seconds)),
      rate,
    );
    const step = 1000 / rate;
    const out = samples.map((s) => (together ? { ...s, t: Math.floor(s.t / step) * step } : s));
    for (const { at, value } of spoil) {
      const i = at % out.length;
      const old = out[i];
      if (old !== undefined) out[i] = { ...old, value };
    }
    return eventsOf(out, {
      marks: marks.map(({ at, length, label }) => ({ at, until: at + length, label })),
      vehicle: facts,
    });
  });

function textOf(events: readonly RecordingEvent[]): string {
  const header = headerLine({
    format: formatName,
    version: formatVersion,
    started: "2024-01-01T00:00:00.000Z",
    from: "test",
    adapter: null,
    protocol: null,
    vehicle: {},
    invented: true,
    writer: "test",
  });
  return header + events.map((e) => eventLine(e)).join("");
}

function fromFile(text: string): Findings {
  const reading = new Reading("file");
  reading.push(text);
  reading.finish();
  return interpret(reading);
}

test("any chunks, with looks in between, end in the same findings", () => {
  fc.assert(
    fc.property(recordingArb, fc.array(fc.nat(), { maxLength: 12 }), (events, cuts) => {
      const text = textOf(events);
      const reading = new Reading("live");
      const stops = [...new Set(cuts.map((c) => c % text.length))].sort((a, b) => a - b);
      let interpreter: Interpreter | null = null;
      let from = 0;
      for (const stop of [...stops, text.length]) {
        reading.push(text.slice(from, stop));
        from = stop;
        interpreter ??= reading.header === null ? null : new Interpreter(reading);
        interpreter?.advance();
        interpreter?.findings();
      }
      reading.finish();
      interpreter?.finish();
      expect(interpreter?.findings()).toEqual(fromFile(text));
    }),
    { numRuns: 60 },
  );
}, 120_000);

test("the order of channels within one instant does not matter", () => {
  fc.assert(
    fc.property(recordingArb, fc.infiniteStream(fc.nat({ max: 1000 })), (events, stream) => {
      const keys = stream[Symbol.iterator]();
      // Two readings of one channel keep their order: that is the channel's own.
      const drawn = new Map<string, number>();
      const keyed = events.map((event, i) => {
        if (event.k !== "s") return { event, key: 2000 + i };
        const name = `${event.t} ${event.ch}`;
        const key = drawn.get(name) ?? Number(keys.next().value);
        drawn.set(name, key);
        return { event, key };
      });
      const shuffled = keyed.sort((a, b) => a.event.t - b.event.t || a.key - b.key).map((k) => k.event);
      expect(fromFile(textOf(shuffled))).toEqual(fromFile(textOf(events)));
    }),
    { numRuns: 80 },
  );
}, 120_000);

test("what comes out keeps to the published schema, is JSON, and fits the terminal as text", () => {
  fc.assert(
    fc.property(recordingArb, (events) => {
      const findings = fromFile(textOf(events));
      expect(findingsSchema.safeParse(findings).error?.issues ?? []).toEqual([]);
      expect(findingsSchema.parse(JSON.parse(JSON.stringify(findings)))).toEqual(findings);
      for (const system of ["metric", "us"] as const)
        for (const full of [false, true])
          for (const line of findingsText(findings, system, full).split("\n"))
            expect(line.length, line).toBeLessThanOrEqual(textWidth);
      expect(new Set(findings.signs.map((s) => s.key)).size).toBe(findings.signs.length);
    }),
    { numRuns: 40 },
  );
}, 120_000);

describe("a live look", () => {
  const events = eventsOf(
    script(
      [keyOn(5), crank(2), idle(60)].map((s) => but(s, trims(3))),
      10,
    ).samples,
  );

  test("shows only what is settled, and never more than is there", () => {
    const reading = new Reading("live");
    const interpreter = new Interpreter(reading);
    let last = 0;
    for (const event of events) {
      reading.event(event);
      interpreter.advance();
      if (event.t < last + 5000) continue;
      last = event.t;
      const { until } = interpreter.findings();
      expect(until).toBeLessThanOrEqual(event.t);
      if (event.t > 20_000) expect(until).toBeGreaterThan(event.t - 5000);
    }
  });

  test("a channel that lags behind the others, against the format, is read as it is from a file", () => {
    const lagging = script(
      [keyOn(5), crank(2), idle(60)].map((s) => but(s, trims(14))),
      4,
    ).samples;
    const late = lagging.filter((s) => s.channel === "trim-short-b1");
    const inTime = lagging.filter((s) => s.channel !== "trim-short-b1");
    const reading = new Reading("live");
    const interpreter = new Interpreter(reading);
    for (const event of [...eventsOf(inTime), ...eventsOf(late)]) {
      reading.event(event);
      interpreter.advance();
      if (event.t > 66_000) interpreter.findings();
    }
    interpreter.finish();
    expect(interpreter.findings()).toEqual(interpret(reading));
    expect(interpreter.findings().signs.find((s) => s.id === "mixture.lean")?.verdict).toBe("outside");
  });

  test("facts that are corrected while it runs count from the beginning", () => {
    const reading = new Reading("live");
    const interpreter = new Interpreter(reading);
    for (const event of events) {
      reading.event(event);
      interpreter.advance();
    }
    const facts: RecordingEvent = { k: "facts", t: reading.lastTime, facts: { vehicle: { idleRpm: 900 } } };
    reading.event(facts);
    interpreter.finish();
    expect(interpreter.findings()).toEqual(interpret(reading));
    expect(interpreter.findings().signs.find((s) => s.id === "mixture.idle-speed")?.range?.replaced).toBe(
      true,
    );
  });
});
