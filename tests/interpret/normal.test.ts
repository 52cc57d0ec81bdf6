import fc from "fast-check";
import { expect, test } from "vitest";
import { channelInfo } from "../../shared/decode.ts";
import { interpret, learnNormal, normalOf, readNormal, type Normal } from "../../src/interpret/index.ts";
import type { RecordingNormal } from "../../src/interpret/normal/gather.ts";
import { learnedText } from "../../src/interpret/normal/text.ts";
import { Reading } from "../../src/reading/index.ts";
import { crank, idle, keyOn, readingOf } from "./scenes.ts";

/** Two minutes of warm idle that stands, two readings a second. */
function idling(values: Readonly<Record<string, number>>): Reading {
  const reading = new Reading("idle");
  const all = { "engine-speed": 770, coolant: 90, "vehicle-speed": 0, throttle: 16, ...values };
  for (let t = 0; t < 120_000; t += 500)
    for (const [ch, v] of Object.entries(all))
      reading.event({ k: "s", t, ch, v, u: channelInfo(ch)?.unit ?? "" });
  return reading;
}

const learn = (list: readonly Readonly<Record<string, number>>[], name?: string): Normal =>
  learnNormal(
    list.map((values, i) => ({ name: `r${i}`, normal: normalOf(idling(values)) })),
    name,
  );

const four = [768, 770, 771, 772].map((speed) => ({ "engine-speed": speed, ambient: 20 }));
const idleSpeed = (reading: Reading, normal?: Normal) =>
  interpret(reading, undefined, normal).signs.find((s) => s.id === "mixture.idle-speed");

test("its own band beats the trade's, and the sign says which it used", () => {
  const normal = learn(four);
  const own = idleSpeed(idling({ "engine-speed": 850, ambient: 20 }), normal);
  expect(own).toMatchObject({ verdict: "outside", side: "high", range: { replaced: true } });
  expect(own?.range?.source).toBe("this vehicle, 4 recordings");
  expect(own?.trade).toMatchObject({ low: 600, high: 1000 });
  expect(own?.own).toMatchObject({ used: true, recordings: 4 });
  expect(idleSpeed(idling({ "engine-speed": 850, ambient: 20 }))?.verdict).toBe("within");
  const sound = idleSpeed(idling({ "engine-speed": 775, ambient: 20 }), normal);
  expect(sound).toMatchObject({ verdict: "within", own: { used: true } });
});

test("what is usual for it and outside the trade's range is near the edge, never within", () => {
  const fast = [1098, 1100, 1101, 1099].map((speed) => ({
    "engine-speed": speed,
    "trim-short-b1": 0,
    ambient: 20,
  }));
  const here = idling({ ...fast[0] });
  expect(idleSpeed(here)?.verdict).toBe("outside");
  expect(idleSpeed(here, learn(fast))).toMatchObject({
    verdict: "near",
    note: "Usual for this vehicle, and outside the trade's range.",
  });
});

test("too few recordings, and another day than was learned, are said, and the trade's range is used", () => {
  const off = { "engine-speed": 850, ambient: 20 };
  const few = idleSpeed(idling(off), learn(four.slice(0, 2)));
  expect(few).toMatchObject({ verdict: "within", own: { used: false } });
  expect(few?.own?.words).toContain("too few");
  const cold = idleSpeed(idling({ ...off, ambient: -15 }), learn(four));
  expect(cold).toMatchObject({ verdict: "within", own: { used: false } });
  expect(cold?.own?.words).toContain("20 to 20 °C");
});

test("what was learned comes back from its file, and what is none is refused by the field", () => {
  const normal = learn(four, "shop van");
  expect(readNormal(JSON.parse(JSON.stringify(normal)), "v.json")).toEqual(normal);
  expect(learnedText(normal)).toContain("Normal for shop van: 4 recordings, outside air 20 to 20 °C");
  expect(() => readNormal({ ...normal, version: 2 }, "v.json")).toThrow(
    expect.objectContaining({ code: "newer-format" }),
  );
  expect(() => readNormal({ ...normal, figures: [{ of: "idle-speed" }] }, "v.json")).toThrow(
    expect.objectContaining({ code: "normal-invalid" }),
  );
  expect(() => learnNormal([])).toThrow(expect.objectContaining({ code: "wrong-use" }));
});

test("whatever the figures are, the spread is no less than between the recordings, and falls as they grow more", () => {
  const of = (values: readonly number[]): RecordingNormal[] =>
    values.map((value) => ({
      figures: [{ of: "idle-speed", value, readings: 10, windows: [] }],
      temperature: null,
    }));
  const spread = (values: readonly number[]): number =>
    learnNormal(of(values).map((normal, i) => ({ name: `${i}`, normal }))).figures[0]?.spread ?? 0;
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 500, max: 1100 }), { minLength: 3, maxLength: 12 }), (values) => {
      const [learned] = learnNormal(of(values).map((normal, i) => ({ name: `${i}`, normal }))).figures;
      expect(learned?.spread).toBeGreaterThanOrEqual((learned?.deviation ?? 0) - 1e-3);
      expect(spread([...values, ...values])).toBeLessThanOrEqual(spread(values) + 1e-3);
    }),
  );
});

test("a pull-down is learned of three readings at least: of fewer the first turns say too much", () => {
  const learned = (seconds: number): boolean =>
    normalOf(readingOf([keyOn(10), crank(seconds), idle(20)], 2)).figures.some(
      ({ of }) => of === "pull-down",
    );
  expect([learned(1), learned(4)]).toEqual([false, true]);
});
