import { expect, test } from "vitest";
import { pickedTwo } from "../../src/page/lib/crankTraces.ts";

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
