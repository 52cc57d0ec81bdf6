import fc from "fast-check";
import { expect, test } from "vitest";
import { timeText, timeTicks, valueAxis } from "../../src/sheet/chart/ticks.ts";

test("time ticks are few, rising, inside, evenly spaced and told apart", () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0, max: 4e7, noNaN: true }),
      fc.double({ min: 50, max: 4e7, noNaN: true }),
      fc.integer({ min: 2, max: 16 }),
      (from, length, most) => {
        const stretch = { from, to: from + length };
        const ticks = timeTicks(stretch, most);
        expect(ticks.length).toBeLessThanOrEqual(most + 1);
        const steps = new Set(ticks.slice(1).map((tick, i) => Math.round(tick.t - (ticks[i]?.t ?? 0))));
        expect(steps.size).toBeLessThanOrEqual(1);
        for (const tick of ticks) {
          expect(tick.part).toBeGreaterThanOrEqual(-1e-9);
          expect(tick.part).toBeLessThanOrEqual(1 + 1e-9);
        }
        expect(new Set(ticks.map((tick) => tick.text)).size).toBe(ticks.length);
      },
    ),
  );
});

test("times are written as a watch does, with the decimals the step needs", () => {
  expect(timeText(41_000, 5000)).toBe("0:41");
  expect(timeText(725_000, 1000)).toBe("12:05");
  expect(timeText(3_723_000, 1000)).toBe("1:02:03");
  expect(timeText(1_500, 500)).toBe("0:01.5");
  expect(timeText(26_930, 10)).toBe("0:26.93");
  expect(timeText(59_999, 1000)).toBe("1:00");
});

test("a value axis holds its values, has ticks on it, and spans what it must", () => {
  fc.assert(
    fc.property(
      fc.double({ min: -5000, max: 20_000, noNaN: true }),
      fc.double({ min: 0, max: 20_000, noNaN: true }),
      fc.constantFrom(0.1, 1, 10, 200),
      fc.integer({ min: 2, max: 8 }),
      (low, span, least, most) => {
        const axis = valueAxis(low, low + span, least, most);
        expect(axis.min).toBeLessThanOrEqual(low);
        expect(axis.max).toBeGreaterThanOrEqual(low + span);
        expect(axis.max - axis.min).toBeGreaterThanOrEqual(least * 0.99);
        // One that stands off the rim tells no scale: two do.
        const rim = (axis.max - axis.min) * 0.04;
        const inside = axis.ticks.filter((tick) => tick > axis.min + rim && tick < axis.max - rim);
        expect(inside.length).toBeGreaterThanOrEqual(2);
        expect(axis.ticks.length).toBeLessThanOrEqual(most + 4);
        for (const tick of axis.ticks) {
          expect(Number(tick.toFixed(axis.digits))).toBeCloseTo(tick, 6);
        }
      },
    ),
  );
});

test("a trim of both signs in a low lane has two ticks that find room", () => {
  const axis = valueAxis(-21.9, 29.7, 20, 2);
  expect(axis.ticks.filter((tick) => tick > axis.min && tick < axis.max)).toEqual([-20, 0, 20]);
});

test("an axis stands still while values move a little", () => {
  expect(valueAxis(12.41, 12.52, 1, 4)).toEqual(valueAxis(12.43, 12.55, 1, 4));
});

test("what cannot fall below zero gets only a rim there", () => {
  const axis = valueAxis(0, 0, 200, 4);
  expect(axis.min).toBeLessThan(0);
  expect(axis.min).toBeGreaterThan(-20);
  expect(axis.ticks[0]).toBe(0);
});
