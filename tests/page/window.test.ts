import fc from "fast-check";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { View } from "../../src/page/lib/chart/view.svelte.ts";
import {
  around,
  broughtBy,
  clampStretch,
  following,
  leastPaperMs,
  pan,
  partOf,
  shortestMs,
  timeAt,
  whole,
  zoom,
} from "../../src/page/lib/chart/window.ts";

const end = fc.double({ min: 0, max: 4e7, noNaN: true });
const stretch = fc
  .tuple(fc.double({ min: -1e6, max: 4e7, noNaN: true }), fc.double({ min: 0.001, max: 5e7, noNaN: true }))
  .map(([from, length]) => ({ from, to: from + length }));

test("whatever is done, the stretch stays on the paper and is never too short to tell anything", () => {
  fc.assert(
    fc.property(
      stretch,
      end,
      fc.double({ min: -3, max: 3, noNaN: true }),
      fc.double({ min: 0.01, max: 100, noNaN: true }),
      (start, paper, part, factor) => {
        const kept = clampStretch(start, paper);
        for (const s of [
          kept,
          pan(kept, part, paper),
          zoom(kept, factor, timeAt(0.3, kept), paper),
          around(kept.from, kept.to, paper),
        ]) {
          expect(s.from).toBeGreaterThanOrEqual(-1e-6);
          expect(s.to).toBeLessThanOrEqual(whole(paper).to + 1e-6);
          expect(s.to - s.from).toBeGreaterThanOrEqual(shortestMs - 1e-6);
        }
      },
    ),
  );
});

test("panning forth and back comes home, away from the edges", () => {
  const start = { from: 20_000, to: 30_000 };
  const there = pan(start, 0.5, 100_000);
  expect(there).toEqual({ from: 25_000, to: 35_000 });
  expect(pan(there, -0.5, 100_000)).toEqual(start);
});

test("panning beyond the end stops there and keeps the length", () => {
  const s = pan({ from: 80_000, to: 100_000 }, 5, 100_000);
  expect(s.to).toBe(whole(100_000).to);
  expect(s.to - s.from).toBeCloseTo(20_000, 6);
});

test("zooming keeps the time under the hand where it is", () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0.05, max: 0.95, noNaN: true }),
      fc.double({ min: 0.2, max: 1, noNaN: true }),
      (part, factor) => {
        const start = { from: 200_000, to: 260_000 };
        const t = timeAt(part, start);
        expect(partOf(t, zoom(start, factor, t, 1e6))).toBeCloseTo(part, 6);
      },
    ),
  );
});

test("following ends at the live end; a young recording fills the paper from the left", () => {
  expect(following(5_000, 45_000, 450)).toEqual({ from: 0, to: 45_000 });
  expect(following(90_000, 45_000, 450)).toEqual({ from: 45_000, to: 90_000 });
});

test("following moves by whole columns, and the live end is always on the paper, at most a column from its edge", () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0, max: 4e7, noNaN: true }),
      fc.integer({ min: 2000, max: 7_200_000 }),
      fc.integer({ min: 1, max: 4000 }),
      (end, span, columns) => {
        const step = span / columns;
        const { from, to } = following(end, span, columns);
        expect(to - from).toBeCloseTo(span, 3);
        expect(to).toBeGreaterThanOrEqual(end);
        expect(to === span || to - end <= step * 1.0001).toBe(true);
        expect(Math.abs(to / step - Math.round(to / step))).toBeLessThan(1e-3);
      },
    ),
  );
  expect(following(90_010, 45_000, 450)).toEqual(following(90_090, 45_000, 450));
});

test("an empty recording still has paper", () => {
  expect(whole(0)).toEqual({ from: 0, to: leastPaperMs });
});

test("part and time are each other's reverse", () => {
  fc.assert(
    fc.property(fc.double({ min: -2, max: 3, noNaN: true }), (part) => {
      const s = { from: 1234, to: 5678 };
      expect(partOf(timeAt(part, s), s)).toBeCloseTo(part, 9);
    }),
  );
});

test("an instant is brought into view with the ten seconds that follow it, a longer stretch as it is", () => {
  expect(broughtBy({ from: 60_000, to: 60_000 }, 200_000)).toEqual({ from: 57_500, to: 72_500 });
  expect(broughtBy({ from: 60_000, to: 61_900 }, 200_000)).toEqual({ from: 57_500, to: 72_500 });
  // From close by it stays close.
  expect(broughtBy({ from: 60_000, to: 60_000 }, 200_000, 3000)).toEqual({ from: 59_500, to: 62_500 });
  expect(broughtBy({ from: 60_000, to: 65_000 }, 200_000)).toEqual(around(60_000, 65_000, 200_000));
  expect(broughtBy({ from: 60_000, to: 100_000 }, 200_000)).toEqual(around(60_000, 100_000, 200_000));
});

test("a hand beside the plot points at nothing that is not seen, and none points beyond what was recorded", () => {
  const view = new View({ end: 60_000, calm: { end: 60_000 }, live: false }, 30_000, new VirtualClock());
  view.show(10_000, 30_000);
  const pointed = (part: number | null): number | null => {
    view.hover(part);
    return view.cursor;
  };
  expect([0, 0.5, 1].map(pointed)).toEqual([10_000, 20_000, 30_000]);
  expect([-0.1, 1.5, null].map(pointed)).toEqual([null, null, null]);
  view.pin(99_000);
  expect(view.cursor).toBe(60_000);
});
