import { expect, test } from "vitest";
import { ChannelStore } from "../../shared/channels.ts";
import type { Crank } from "../../src/interpret/report/schema.ts";
import { crankPanels, crankSpan, pickedTwo } from "../../src/page/lib/chart/crankTraces.ts";

const cranks = (n: number): { number: number }[] => Array.from({ length: n }, (_, i) => ({ number: i + 1 }));

test("the first and the last crank are compared, or those that were chosen, never one with itself", () => {
  expect(pickedTwo(cranks(4), [null, null])).toEqual([1, 4]);
  expect(pickedTwo(cranks(4), [3, 2])).toEqual([3, 2]);
  expect(pickedTwo(cranks(4), [4, null])).toEqual([4, 3]);
  expect(pickedTwo(cranks(4), [2, 2])).toEqual([2, 4]);
  expect(pickedTwo(cranks(4), [9, 9])).toEqual([1, 4]);
});

test("one crank alone has nothing beside it", () => {
  expect(pickedTwo(cranks(1), [null, null])).toEqual([1, 0]);
  expect(pickedTwo(cranks(1), [null, 1])).toEqual([1, 0]);
  expect(pickedTwo([], [null, null])).toEqual([0, 0]);
});

/** Only what the traces ask for. */
const crankAt = (from: number, to: number): Crank =>
  ({ number: 1, from, to, lengthS: (to - from) / 1000, voltsFrom: null }) as unknown as Crank;

test("the pull-down is how far the manifold lies below the outside: it rises as the manifold falls", () => {
  const pullDown = (outside: "barometric" | "first reading"): (number | null)[] => {
    const store = new ChannelStore();
    if (outside === "barometric") store.append("barometric", "", 0, 100);
    for (const [t, kPa] of [
      [500, 100],
      [1200, 97],
      [1400, 92],
    ] as const)
      store.append("manifold", "", t, kPa);
    const panel = crankPanels(store, [crankAt(1000, 2000)]).find(({ id }) => id === "pull-down");
    return (panel?.traces[0]?.points ?? []).map(({ v }) => v);
  };
  expect(pullDown("barometric")).toEqual([0, 3, 8]);
  expect(pullDown("first reading")).toEqual([0, 3, 8]);
});

test("the longest of them is seen whole, with what came right before and behind it; of a very long one a quarter minute", () => {
  expect(crankSpan([crankAt(0, 4000), crankAt(9000, 21_000)])).toEqual({ from: -0.6, to: 13.5 });
  expect(crankSpan([crankAt(0, 60_000)]).to).toBe(15);
});
