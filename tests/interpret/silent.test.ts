/** Nobody answers, or one of several modules no more: stated as signs, with what was measured meanwhile. */
import { expect, test } from "vitest";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { interpret, type Sign } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";

const x = (t: number, ask: string, ...lines: string[]): RecordingEvent => ({
  ...{ k: "x", t, ask, lines, first: 5, end: 8 },
});
const identified: RecordingEvent = {
  k: "link",
  t: 0,
  state: "identified",
  adapter: { says: "adapter v1.5" },
};

function signs(events: readonly RecordingEvent[], id: string): Sign[] {
  const reading = new Reading("test");
  for (const event of events) reading.event(event);
  return interpret(reading).signs.filter((sign) => sign.id === id);
}

const every = (ms: number, from: number, to: number): number[] =>
  Array.from({ length: Math.floor((to - from) / ms) }, (_, i) => from + i * ms);

test("an adapter that works and a vehicle that says nothing: the volts at the socket stand beside it", () => {
  const volts = every(100, 100, 9000).map((t) => x(t, "ATRV", "12.4V"));
  const [sign] = signs([identified, ...volts, x(9100, "0100", "UNABLE TO CONNECT")], "link.no-module");
  expect(sign).toMatchObject({ verdict: "outside", measured: { value: 12.4, unit: "V" } });
  // Too early to tell, or somebody answered.
  expect(signs([identified, ...volts.slice(0, 20)], "link.no-module")).toEqual([]);
  const answered: RecordingEvent = { k: "link", t: 50, state: "protocol", protocol: "can11-500" };
  expect(signs([identified, answered, ...volts], "link.no-module")).toEqual([]);
  // A file from elsewhere knows no adapter.
  expect(signs(volts, "link.no-module")).toEqual([]);
});

test("one of two modules falls silent while the other goes on answering the same question", () => {
  const protocol: RecordingEvent = { k: "link", t: 1, state: "protocol", protocol: "can11-500" };
  const both = every(500, 100, 15_000).map((t) => x(t, "010C", "7E804410C0AF0", "7E904410C0AF0"));
  const one = every(500, 15_000, 30_000).map((t) => x(t, "010C", "7E904410C0AF0"));
  const [sign] = signs([identified, protocol, ...both, ...one], "link.one-silent");
  expect(sign?.verdict).toBe("outside");
  expect(sign?.measured?.what).toContain("7E8");
  expect(signs([identified, protocol, ...both, ...one.slice(0, 8)], "link.one-silent")).toEqual([]);
  // Both are silent: that is no single module.
  const none = every(500, 15_000, 30_000).map((t) => x(t, "010C", "NO DATA"));
  expect(signs([identified, protocol, ...both, ...none], "link.one-silent")).toEqual([]);
});
