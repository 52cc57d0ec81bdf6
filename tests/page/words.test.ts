import { expect, test } from "vitest";
import { regimes } from "../../shared/ranges.ts";
import { regimeAt, regimeTone } from "../../src/page/lib/chart/regimes.ts";
import { ageText, bytesText, clockText, count, rateText, whenText } from "../../src/page/lib/app/words.ts";

test("lengths, ages, rates and sizes are said shortly", () => {
  expect([41_900, 725_000, 3_723_000].map(clockText)).toEqual(["0:41", "12:05", "1:02:03"]);
  expect([60, 994, 995, 9_949, 12_400, 240_000, 7_200_000].map(ageText)).toEqual([
    "0.06 s old",
    "0.99 s old",
    "1.0 s old",
    "9.9 s old",
    "12 s old",
    "4 min old",
    "2.0 h old",
  ]);
  expect([9.6, 0.5, 0.08, 120].map(rateText)).toEqual(["9.6/s", "0.5/s", "every 13 s", "120/s"]);
  expect([0, Number.NaN].map(rateText)).toEqual([null, null]);
  expect([999, 212_400, 3_400_000].map(bytesText)).toEqual(["999 B", "212 kB", "3.4 MB"]);
  expect(count(1, "module")).toBe("1 module");
  expect(count(0, "module")).toBe("0 modules");
  expect(whenText(null)).toBe("time unknown");
  expect(whenText("not a time")).toBe("time unknown");
});

const spans = [
  { from: 0, to: 4000, regime: "key-on" },
  { from: 4000, to: 9000, regime: "cranking" },
] as const;

test("the regime at a time, before, at and beyond the known ones", () => {
  expect([-1, 0, 3999, 4000, 9000, 99_000].map((t) => regimeAt(spans, t))).toEqual([
    null,
    "key-on",
    "key-on",
    "cranking",
    "cranking",
    "cranking",
  ]);
  expect(regimeAt([], 5)).toBeNull();
});

test("cranking, no speed and running never share a tone", () => {
  const tones = (["cranking", "no-speed", "idle", "key-on", "silent"] as const).map(regimeTone);
  expect(new Set(tones).size).toBe(5);
  for (const regime of regimes) expect(regimeTone(regime)).toMatch(/^(rest|key|crank|none|run)$/);
});
