/** A harness moved by hand: what drops out with it, against the time before; and the exact test of the two counts. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { Bench } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import type { MarkEvent, RecordingEvent } from "../../shared/recording/format.ts";
import { markedResults } from "../../src/interpret/causes/marked.ts";
import { findingsText, interpret, type Findings } from "../../src/interpret/index.ts";
import { atLeastByChance, binomialTerm } from "../../src/interpret/maths/poisson.ts";
import { dropWords } from "../../src/interpret/running/wiggleWords.ts";
import { withoutWiggled, wiggleLabel } from "../../src/interpret/running/wiggleLabel.ts";
import { isWiggle, wiggleIn, wiggleSpan } from "../../src/interpret/running/wiggle.ts";
import { Reading } from "../../src/reading/index.ts";
import { but, crank, eventsOf, findingsOf, idle, keyOn, readingOf, script, type Stretch } from "./scenes.ts";
import { benchSession } from "../support/benchSession.ts";

describe("two counts over two times", () => {
  // R documentation, poisson.test: poisson.test(c(11, 6+8+7), c(800, 1083+1050+878)) prints p-value = 0.07967, expected 6.7174.
  test("the published example: lung cancer in four cities", () => {
    const [n, share] = [32, 800 / 3811];
    const greater = atLeastByChance({ count: 11, time: 800 }, { count: 21, time: 3011 });
    // Two-sided there: all counts that are no likelier than the one that was seen.
    const seen = binomialTerm(n, 11, share);
    let low = 0;
    for (let k = 0; k < 11; k++) if (binomialTerm(n, k, share) <= seen) low += binomialTerm(n, k, share);
    expect(greater + low).toBeCloseTo(0.07967, 5);
    expect(n * share).toBeCloseTo(6.7174, 4);
  });

  test("four in 12 s and none in 60 before: a sixth, four times over", () => {
    expect(atLeastByChance({ count: 4, time: 12 }, { count: 0, time: 60 })).toBeCloseTo((1 / 6) ** 4, 12);
    expect(atLeastByChance({ count: 0, time: 12 }, { count: 7, time: 60 })).toBeCloseTo(1, 12);
  });

  test("it is a chance, falls with each more, and needs no factorial", () => {
    const time = fc.double({ min: 0.1, max: 1000, noNaN: true });
    fc.assert(
      fc.property(fc.nat({ max: 400 }), fc.nat({ max: 400 }), time, time, (a, b, t, u) => {
        const chance = atLeastByChance({ count: a, time: t }, { count: b, time: u });
        expect(chance).toBeGreaterThanOrEqual(0);
        expect(chance).toBeLessThanOrEqual(1);
        expect(atLeastByChance({ count: a + 1, time: t }, { count: b, time: u })).toBeLessThanOrEqual(
          chance + 1e-9,
        );
      }),
    );
  });
});

const place = wiggleLabel("harness at the bulkhead");
/** Idle; the speed is not answered for 0.3 s at these seconds. */
const breaking = (at: readonly number[], seconds = 100): Stretch =>
  but(idle(seconds), {
    "engine-speed": (s) => (at.some((a) => s >= a && s < a + 0.3) ? Number.NaN : 750 + 5 * Math.sin(9 * s)),
  });
const mark = { at: 80_000, until: 92_000, label: place };
const wiggled = (stretch: Stretch, marks = [mark], rate = 10): Findings =>
  findingsOf([keyOn(5), crank(1), stretch], rate, { marks });
/** Seconds of the recording, from those of the idle. */
const idleAt = (...at: readonly number[]): number[] => at.map((s) => s - 6);

test("four with it, none before: a contact opens there", () => {
  const [found] = wiggled(breaking(idleAt(81, 84, 87, 90))).wiggles ?? [];
  expect(found).toMatchObject({ says: "comes-with-it", before: 0, beforeS: 60, seconds: 12.5 });
  expect(found?.drops.map(({ kinds, channels }) => [kinds, channels])).toEqual(
    Array.from({ length: 4 }, () => [["no-answer"], ["engine-speed"]]),
  );
  expect(found?.chance).toBeCloseTo((12.5 / 72.5) ** 4, 5);
  expect(found?.words).toBe(
    "harness at the bulkhead: 4 drop-outs in 13 s, none in 60 s before (no answer 4). Chance alone does that in less than 0.1 % of tries: a contact opens there.",
  );
  expect(findingsText(wiggled(breaking(idleAt(81, 84, 87, 90))), "metric").replace(/\s+/g, " ")).toContain(
    "wiggled: harness at the bulkhead harness at the bulkhead: 4 drop-outs",
  );
});

test("as often before as with it; two alone are doubtful; none is no proof", () => {
  const regular = Array.from({ length: 24 }, (_, i) => 22 + 3 * i);
  expect(wiggled(breaking(idleAt(...regular))).wiggles?.[0]).toMatchObject({ says: "as-before", before: 20 });
  expect(wiggled(breaking(idleAt(81, 90))).wiggles?.[0]?.says).toBe("perhaps");
  const nothing = wiggled(breaking([])).wiggles?.[0];
  expect(nothing?.says).toBe("nothing");
  expect(nothing?.words).toMatch(
    /no drop-outs in 13 s, none in 60 s before, of \d+ readings a second\. No proof/,
  );
});

test("what it takes: read twice a second, four seconds of it, and a while untouched before", () => {
  const words = (f: Findings): string => f.wiggles?.[0]?.words ?? "";
  expect(words(wiggled(breaking(idleAt(81)), [mark], 1))).toMatch(
    /Cannot tell: nothing was read twice a second/,
  );
  expect(words(wiggled(breaking(idleAt(81)), [{ ...mark, until: 82_000 }]))).toMatch(/less than 4 s/);
  const early = { ...mark, at: 8000, until: 20_000 };
  expect(words(wiggled(breaking(idleAt(10, 12, 14)), [early]))).toMatch(/leave it alone for 10 s first/);
});

test("a step of a sensor and back is one; a swing of the level that stays is one; engine speed may do as it likes", () => {
  const stretch = but(idle(100), {
    throttle: (s) => (s >= 76 && s < 76.4 ? 70 : 16) + 0.2 * Math.sin(7 * s),
    coolant: (s) => (s >= 80 ? 60 : 88),
    "engine-speed": (s) => 750 + (s >= 78 && s < 79 ? 400 : 0),
  });
  const drops = wiggled(stretch).wiggles?.[0]?.drops ?? [];
  expect(drops.map(({ kinds, channels }) => [kinds, channels])).toEqual([
    [["step"], ["throttle"]],
    [["step"], ["coolant"]],
  ]);
  expect(dropWords(drops[0] ?? { t: 0, kinds: [], channels: [] })).toMatch(/^step: .*throttle/i);
});

test("a running engine's speed at zero counts; a starter that is let go does not, one that is seen again does", () => {
  const zero = but(idle(100), { "engine-speed": (s) => (s >= 76 && s < 76.3 ? 0 : 750) });
  expect(wiggled(zero).wiggles?.[0]?.drops).toMatchObject([{ kinds: ["zero"], channels: ["engine-speed"] }]);
  const label = "crank sensor's plug wiggled";
  const cranked = (rpm: (s: number) => number): Findings =>
    findingsOf([keyOn(20), crank(9), keyOn(4), but(crank(6), { "engine-speed": rpm }), keyOn(10)], 10, {
      marks: [{ at: 32_000, until: 40_000, label }],
    });
  expect(cranked(() => 200).wiggles?.[0]?.drops).toEqual([]);
  const lost = cranked((s) => ((s > 1 && s < 1.3) || (s > 2.5 && s < 2.8) || (s > 4 && s < 4.3) ? 0 : 200));
  expect(lost.wiggles?.[0]?.drops).toHaveLength(3);
  // Before it only cranking counts, and there was little of it: no sure word.
  expect(lost.wiggles?.[0]).toMatchObject({ says: "perhaps", before: 0 });
  expect(lost.wiggles?.[0]?.beforeS).toBeGreaterThan(9);
  expect(lost.wiggles?.[0]?.beforeS).toBeLessThan(13);
});

test("the mark of the crank sensor's plug answers its hand check; another place answers none", () => {
  const zeros = but(idle(100), {
    "engine-speed": (s) => ([75, 78, 81, 84].some((a) => s >= a && s < a + 0.3) ? 0 : 750),
  });
  const label = "wiggled: crank sensor's plug";
  expect(markedResults(wiggled(zeros, [{ ...mark, label }]))).toMatchObject([
    { check: "plug-wiggle", outcome: "drops", marks: ["m0"] },
  ]);
  expect(markedResults(wiggled(breaking([]), [{ ...mark, label }]))).toMatchObject([{ outcome: "same" }]);
  expect(markedResults(wiggled(zeros))).toEqual([]);
});

test("a dead moment of everything is one, whatever was read", () => {
  const dead = (s: number): number => (s >= 78 && s < 80 ? 1 : 0);
  const reading = new Reading("dead");
  const { samples } = script([keyOn(5), crank(1), idle(100)], 10);
  const marks: RecordingEvent = { k: "mark", t: 106_000, id: "m0", ...mark };
  for (const event of [...eventsOf(samples.filter(({ t }) => dead(t / 1000 - 6) === 0)), marks])
    reading.event(event);
  const [found] = interpret(reading).wiggles ?? [];
  expect(found?.drops).toMatchObject([{ kinds: ["dead"], channels: [] }]);
});

test("labels of a wiggle", () => {
  for (const label of [
    "plug and wiring wiggled",
    "wiggled: crank sensor's plug",
    "tapped on the relay",
    "shaking the loom",
  ])
    expect([label, isWiggle(label)]).toEqual([label, true]);
  for (const label of ["cylinder 3 unplugged", "shaft looked at", "fuel tap"])
    expect([label, isWiggle(label)]).toEqual([label, false]);
  expect(withoutWiggled(place)).toBe("harness at the bulkhead");
  expect(withoutWiggled("plug wiggled")).toBe("plug wiggled");
});

test("live, at any moment, it is what a replay of that much says; each drop-out stays once told", () => {
  fc.assert(
    fc.property(
      fc.uniqueArray(fc.integer({ min: 20, max: 94 }), { maxLength: 8 }),
      fc.integer({ min: 82_000, max: 100_000 }),
      (at, until) => {
        const reading = readingOf([keyOn(5), crank(1), breaking(idleAt(...at))], 10, { marks: [mark] });
        const marks = [{ k: "mark", t: mark.at, id: "m0", ...mark } satisfies MarkEvent];
        const span = (now: number): ReturnType<typeof wiggleSpan> =>
          wiggleSpan(marks[0] as MarkEvent, marks, now);
        const now = span(until);
        const whole = span(200_000);
        if (now === null || whole === null) throw new Error("it is a wiggle");
        const cut = new Reading("so far");
        for (const event of eventsOf(script([keyOn(5), crank(1), breaking(idleAt(...at))], 10).samples))
          if (event.t <= until) cut.event(event);
        const live = wiggleIn(cut.channels, now);
        expect(live).toEqual(wiggleIn(reading.channels, now));
        const end = wiggleIn(reading.channels, whole);
        expect(end.drops.slice(0, live.drops.length)).toEqual(live.drops);
      },
    ),
    { numRuns: 40 },
  );
});

test.each([
  ["sound", 0, ["nothing"], 0],
  // It opens when it is moved alone, and the engine may well die of it: then it is one.
  ["loose", 1e-6, ["perhaps", "comes-with-it"], 1],
] as const)(
  "the crank sensor's plug of the bench van, %s: moved while it idles",
  async (_, loose, says, least) => {
    const clock = new VirtualClock();
    const bench = new Bench({ vehicle: "garden-van", clock, seed: 3, coldStartC: 85 });
    bench.act({ act: "key", to: "on" });
    const reading = new Reading("moved");
    const { session } = await benchSession(bench, clock, (event) => {
      reading.event(event);
    });
    await clock.pass(2000);
    bench.act({ act: "key", to: "crank" });
    await clock.pass(1500);
    bench.act({ act: "key", to: "on" });
    await clock.pass(30_000);
    const at = reading.lastTime;
    bench.engine.damage.crankDropout = loose;
    bench.act({ act: "wiggle", plug: "crank-sensor", on: true });
    await clock.pass(10_000);
    const label = wiggleLabel("crank sensor's plug");
    reading.event({ k: "mark", t: reading.lastTime, id: "w", at, until: at + 10_000, label });
    await clock.run(session.close());
    bench.stop();
    const [found] = interpret(reading).wiggles ?? [];
    expect(found?.drops.length).toBeGreaterThanOrEqual(least);
    expect(says).toContain(found?.says);
    expect(found?.watched).toContain("engine-speed");
  },
  180_000,
);
