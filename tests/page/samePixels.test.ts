import fc from "fast-check";
import { expect, test } from "vitest";
import { Series } from "../../shared/channels.ts";
import { samePixels } from "../../src/page/lib/chart/samePixels.ts";
import { lanePicture, type LanePicture } from "../../src/sheet/chart/picture.ts";

const minutes = 60_000;

/** Ten readings a second about 100 rpm for half an hour, and then these, in half an hour and a second of paper. */
function picture(
  then: readonly (number | null)[],
  change: { width?: number; to?: number } = {},
): LanePicture {
  const series = new Series("engine-speed", "7E8");
  for (let t = 0; t < 30 * minutes; t += 100) series.append(t, 100 + (t % 700) / 100);
  then.forEach((value, i) => series.append(30 * minutes + i * 100, value ?? Number.NaN));
  return lanePicture({
    sources: [{ channel: "engine-speed", series, unit: "rpm", colour: 0, stepped: false }],
    spans: [{ from: 0, to: 30 * minutes, regime: "idle" }],
    ranges: { channel: () => ({ low: 90, high: 110 }) },
    system: "metric",
    stretch: { from: 0, to: change.to ?? 30 * minutes + 3000 },
    width: change.width ?? 600,
    height: 60,
    axisWidth: 40,
    timeTicks: [0, 10 * minutes],
  });
}

test("a reading between what its column shows already changes nothing; one beyond does", () => {
  const before = picture([100, 106]);
  expect(samePixels(before, picture([100, 106, 103]), 1)).toBe(true);
  expect(samePixels(before, picture([100, 106, 103, 105]), 1)).toBe(true);
  expect(samePixels(before, picture([100, 106, 90]), 1)).toBe(false);
  expect(samePixels(before, picture([100, 106, 150]), 1)).toBe(false);
  expect(samePixels(before, picture([100, 106, null]), 1)).toBe(false);
});

test("another size, another stretch, a new column are drawn", () => {
  const before = picture([100, 106]);
  expect(samePixels(before, before, 1)).toBe(true);
  expect(samePixels(before, picture([100, 106]), 1)).toBe(true);
  expect(samePixels(before, picture([100, 106], { width: 601 }), 1)).toBe(false);
  expect(samePixels(before, picture([100, 106], { to: 30 * minutes + 6000 }), 1)).toBe(false);
  expect(samePixels(before, picture(Array.from({ length: 31 }, () => 103)), 1)).toBe(false);
});

test("whatever came, what is passed over lies within the highest and lowest row of the newest column", () => {
  fc.assert(
    fc.property(
      fc.array(fc.integer({ min: 80, max: 130 }), { minLength: 1, maxLength: 12 }),
      fc.integer({ min: 80, max: 130 }),
      (values, next) => {
        const before = picture(values);
        const after = picture([...values, next]);
        if (!samePixels(before, after, 1)) return;
        const { min, max } = after.axis;
        const row = (v: number): number => Math.round(((v - min) / (max - min)) * 60);
        expect(row(next)).toBeGreaterThanOrEqual(row(Math.min(...values)));
        expect(row(next)).toBeLessThanOrEqual(row(Math.max(...values)));
      },
    ),
    { numRuns: 60 },
  );
});
