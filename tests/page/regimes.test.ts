import { expect, test } from "vitest";
import { eventLine, headerLine, type RecordingEvent } from "../../shared/recording/format.ts";
import { regimeSpans } from "../../src/interpret/folds/regimeSpans.ts";
import type { RegimeSpan } from "../../src/interpret/folds/regimes.ts";
import { outsideGaps, SteadySpans } from "../../src/page/lib/chart/regimes.ts";
import { Regimes } from "../../src/analyst/regimes.ts";
import { Reading } from "../../src/reading/index.ts";

/** Key on, a crank, idle, and key off, as samples ten times a second. */
function lines(): string[] {
  const header = headerLine({
    format: "crankside-recording",
    version: 1,
    started: "2026-01-01T08:00:00.000+00:00",
    from: "import:test",
    adapter: null,
    protocol: null,
    vehicle: {},
    invented: true,
    writer: "test",
  });
  const texts = [header];
  const say = (t: number, ch: string, v: number | null, u: string): void => {
    const event: RecordingEvent = { k: "s", t, ch, v, u };
    texts.push(eventLine(event));
  };
  for (let t = 0; t < 30_000; t += 100) {
    const speed = t < 5000 ? 0 : t < 8000 ? 190 : 780;
    say(t, "engine-speed", t > 25_000 ? null : speed, "rpm");
    say(t + 20, "socket-voltage", t < 5000 ? 12.5 : t < 8000 ? 9.9 : 14.1, "V");
  }
  return texts;
}

test("regimes of a recording that grew are in the end those of the whole", () => {
  const reading = new Reading("test");
  const watch = new Regimes(reading);
  let cranking = 0;
  for (const line of lines()) {
    reading.push(line);
    if (watch.growing().some((span) => span.regime === "cranking")) cranking += 1;
  }
  reading.finish();
  expect(watch.whole()).toEqual(regimeSpans(reading.channels, reading.lastTime));
  expect(cranking).toBeGreaterThan(100);
});

test("an idle speed that is stated later counts from the beginning on", () => {
  const reading = new Reading("test");
  const watch = new Regimes(reading);
  for (const line of lines()) reading.push(line);
  watch.growing();
  reading.push(eventLine({ k: "facts", t: 30_000, facts: { vehicle: { idleRpm: 1900 } } }));
  watch.growing();
  const stated = regimeSpans(reading.channels, reading.lastTime, { idleRpm: 1900 });
  const before = stated.filter((span) => span.to < 20_000);
  expect(watch.growing().filter((span) => span.to < 20_000)).toEqual(before);
});

test("spans of a growing recording stay the same while nothing would be seen of the change", () => {
  const steady = new SteadySpans();
  const spans = (to: number, regime: "idle" | "cranking" = "cranking"): RegimeSpan[] => [
    { from: 0, to: 1000, regime: "key-on" },
    { from: 1000, to, regime },
  ];
  const first = spans(5000);
  expect(steady.of(first, 100)).toBe(first);
  expect(steady.of(spans(5099), 100)).toBe(first);
  const later = spans(5100);
  expect(steady.of(later, 100)).toBe(later);
  const other = spans(5100, "idle");
  expect(steady.of(other, 100)).toBe(other);
  expect(steady.of([], 100)).toEqual([]);
});

test("no regime is told of a time without a link", () => {
  const spans: RegimeSpan[] = [
    { from: 0, to: 100, regime: "idle-cold" },
    { from: 100, to: 300, regime: "silent" },
  ];
  expect(outsideGaps(spans, [])).toBe(spans);
  expect(outsideGaps(spans, [{ from: 40, to: 150 }])).toEqual([
    { from: 0, to: 40, regime: "idle-cold" },
    { from: 150, to: 300, regime: "silent" },
  ]);
  expect(
    outsideGaps(spans, [
      { from: 20, to: 40 },
      { from: 60, to: 400 },
    ]),
  ).toEqual([
    { from: 0, to: 20, regime: "idle-cold" },
    { from: 40, to: 60, regime: "idle-cold" },
  ]);
});
