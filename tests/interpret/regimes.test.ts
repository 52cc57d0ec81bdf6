import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { regimeSpans } from "../../src/interpret/folds/regimeSpans.ts";
import { RegimeFold, type RegimeSpan } from "../../src/interpret/folds/regimes.ts";
import { StoreWalk } from "../../src/interpret/folds/merge.ts";
import { regimes, regimeWords } from "../../shared/ranges.ts";
import { crank, drive, idle, keyOn, script, storeOf, type Stretch, type Taken } from "./scenes.ts";

function names(spans: readonly RegimeSpan[]): string[] {
  return spans.map((s) => s.regime);
}

function spansOf(stretches: readonly Stretch[], rate: number): RegimeSpan[] {
  const { samples, until } = script(stretches, rate);
  return regimeSpans(storeOf(samples), until);
}

const noSpeedSag = (seconds: number, volts: number): Stretch => ({
  ...crank(seconds, 0, volts),
});

describe.each([
  { rate: 50, tolerance: 200 },
  { rate: 5, tolerance: 700 },
  { rate: 0.5, tolerance: 4100 },
])("at $rate readings a second of each channel", ({ rate, tolerance }) => {
  const near = (value: number | undefined, wanted: number): void => {
    expect(Math.abs((value ?? Number.NaN) - wanted)).toBeLessThanOrEqual(tolerance);
  };

  test("key on, crank, start, idle, drive, standing again", () => {
    // Where speed steps from one level to the next there is a short stretch of neither.
    const all = spansOf([keyOn(10), crank(6), idle(40), drive(40), idle(20)], rate);
    const spans = all.filter((s) => s.regime !== "running");
    expect(names(spans)).toEqual(["key-on", "cranking", "run-up", "idle-warm", "cruise", "idle-warm"]);
    near(spans[1]?.from, 10_000);
    near(spans[2]?.from, 16_000);
    near(all[4]?.from, 56_000);
    near(spans[5]?.from, 96_000);
  });

  test("a crank that does not fire ends in key on", () => {
    expect(names(spansOf([keyOn(10), crank(8), keyOn(20)], rate))).toEqual(["key-on", "cranking", "key-on"]);
  });

  test("sag without speed is told from cranking", () => {
    const spans = spansOf([keyOn(20), noSpeedSag(10, 10.9), keyOn(20)], rate);
    expect(names(spans)).toEqual(["key-on", "no-speed", "key-on"]);
    near(spans[1]?.from, 20_000);
    near(spans[2]?.from, 30_000);
  });

  test("an engine that stops with the key on has stalled", () => {
    const spans = spansOf([idle(60), keyOn(30)], rate);
    expect(names(spans)).toEqual(["idle-warm", "stall", "key-on"]);
    near(spans[1]?.from, 60_000);
  });

  test("one odd reading of engine speed changes nothing", () => {
    for (const stretch of [keyOn(60), idle(60), drive(60)]) {
      const { samples, until } = script([stretch], rate);
      const quiet = regimeSpans(storeOf(samples), until);
      const at = samples.findIndex((s) => s.channel === "engine-speed" && s.t >= 30_000);
      for (const odd of [0, 200, 480, 900, 4000, Number.NaN]) {
        const other = samples.map((s, i): Taken => (i === at ? { ...s, value: odd } : s));
        expect(regimeSpans(storeOf(other), until)).toEqual(quiet);
      }
    }
  });

  test("one odd reading of voltage changes nothing", () => {
    for (const stretch of [keyOn(60), idle(60), drive(60)]) {
      const { samples, until } = script([stretch], rate);
      const quiet = regimeSpans(storeOf(samples), until);
      const at = samples.findIndex((s) => s.channel === "module-voltage" && s.t >= 30_000);
      const other = samples.map((s, i): Taken => (i === at ? { ...s, value: 9 } : s));
      expect(regimeSpans(storeOf(other), until)).toEqual(quiet);
    }
  });
});

test("a start between two readings is still a start", () => {
  expect(names(spansOf([keyOn(9), idle(60)], 0.5))).toEqual(["key-on", "run-up", "idle-warm"]);
});

test("drop-outs of the speed signal do not end a crank while the sag lasts", () => {
  const broken: Stretch = {
    ...crank(6),
    channels: { ...crank(6).channels, "engine-speed": (s) => (s % 1 < 0.5 ? 200 : 0) },
  };
  expect(names(spansOf([keyOn(5), broken, keyOn(10)], 20))).toEqual(["key-on", "cranking", "key-on"]);
});

test("a stop of the starter and a second attempt are two cranks", () => {
  const spans = spansOf([keyOn(5), crank(4), keyOn(3), crank(4), idle(20)], 10);
  expect(names(spans)).toEqual(["key-on", "cranking", "key-on", "cranking", "run-up", "idle-warm"]);
});

test("no answer at all is silence, and only the adapter's voltage is not an answer", () => {
  const { samples } = script([idle(20)], 5);
  const volts: Taken[] = Array.from({ length: 40 }, (_, i) => ({
    channel: "socket-voltage",
    t: 20_000 + i * 500,
    value: 12.4,
  }));
  const spans = regimeSpans(storeOf([...samples, ...volts]), 40_000);
  expect(names(spans)).toEqual(["idle-warm", "silent"]);
  expect(Math.abs((spans[1]?.from ?? 0) - 20_000)).toBeLessThan(500);
});

test("a module that never answers while the socket sags: starter on, no speed", () => {
  const at = (from: number, to: number, value: number): Taken[] =>
    Array.from({ length: (to - from) / 200 }, (_, i) => ({
      channel: "socket-voltage",
      t: from + i * 200,
      value,
    }));
  const samples = [...at(0, 6000, 12.5), ...at(6000, 10_000, 10.2), ...at(10_000, 15_000, 12.4)];
  expect(names(regimeSpans(storeOf(samples), 15_000))).toEqual(["silent", "no-speed", "silent"]);
});

const stretchArb = fc.record({
  kind: fc.constantFrom(keyOn, crank, idle, drive, (s: number) => noSpeedSag(s, 10.8)),
  seconds: fc.integer({ min: 1, max: 12 }),
});

const samplesArb = fc
  .record({
    stretches: fc.array(stretchArb, { minLength: 1, maxLength: 7 }),
    rate: fc.constantFrom(0.5, 2, 10),
    spoil: fc.array(fc.record({ at: fc.nat(), value: fc.constantFrom(0, 9, 150, 500, 3000, Number.NaN) }), {
      maxLength: 12,
    }),
    together: fc.boolean(),
  })
  .map(({ stretches, rate, spoil, together }) => {
    const { samples, until } = script(
      stretches.map((s) => s.kind(s.seconds)),
      rate,
    );
    const step = 1000 / rate;
    const out = samples.map((s) => (together ? { ...s, t: Math.floor(s.t / step) * step } : s));
    for (const { at, value } of spoil) {
      const i = at % out.length;
      const old = out[i];
      if (old !== undefined) out[i] = { ...old, value };
    }
    return { samples: out, until };
  });

test("any chunking of the store gives the same spans, and settled spans never change", () => {
  fc.assert(
    fc.property(samplesArb, fc.array(fc.nat(), { maxLength: 10 }), ({ samples, until }, cuts) => {
      const whole = regimeSpans(storeOf(samples), until);
      const fold = new RegimeFold();
      const store = storeOf([]);
      const walk = new StoreWalk(store);
      const stops = [...new Set(cuts.map((c) => c % samples.length))].sort((a, b) => a - b);
      const settled: { at: number; spans: RegimeSpan[] }[] = [];
      let from = 0;
      for (const stop of [...stops, samples.length]) {
        for (const s of samples.slice(from, stop)) store.append(s.channel, "7E8", s.t, s.value);
        from = stop;
        const horizon = stop === samples.length ? Number.POSITIVE_INFINITY : (samples[stop - 1]?.t ?? 0);
        walk.advance(horizon, (c, m, t, v) => fold.take(c, m, t, v));
        if (horizon !== Number.POSITIVE_INFINITY && fold.settled > 0)
          settled.push({ at: fold.settled, spans: fold.spans(fold.settled) });
      }
      fold.finish();
      expect(fold.spans(until)).toEqual(whole);
      for (const { at, spans } of settled) expect(fold.spans(at)).toEqual(spans);
    }),
    { numRuns: 400 },
  );
});

test("the order of channels within one instant does not matter", () => {
  fc.assert(
    fc.property(samplesArb, fc.infiniteStream(fc.nat({ max: 1000 })), ({ samples, until }, keys) => {
      const iterator = keys[Symbol.iterator]();
      const keyed = samples.map((s) => ({ s, key: Number(iterator.next().value) }));
      const shuffled = keyed.sort((a, b) => a.s.t - b.s.t || a.key - b.key).map((k) => k.s);
      const one = new RegimeFold();
      const other = new RegimeFold();
      for (const s of samples) one.take(s.channel, "7E8", s.t, s.value);
      for (const s of shuffled) other.take(s.channel, "7E8", s.t, s.value);
      one.finish();
      other.finish();
      expect(other.spans(until)).toEqual(one.spans(until));
    }),
    { numRuns: 400 },
  );
});

test("spans are contiguous from 0 to the end and every regime has words", () => {
  fc.assert(
    fc.property(samplesArb, ({ samples, until }) => {
      const spans = regimeSpans(storeOf(samples), until);
      let at = 0;
      for (const span of spans) {
        expect(span.from).toBe(at);
        expect(span.to).toBeGreaterThan(span.from);
        at = span.to;
      }
      expect(at).toBe(until);
    }),
  );
  // Words of its own for each: a starter that turns nothing is not told as a crank.
  expect(new Set(Object.values(regimeWords)).size).toBe(regimes.length);
  expect(regimeWords["no-speed"]).toMatch(/no speed/);
});
