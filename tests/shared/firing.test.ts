import fc from "fast-check";
import { expect, test } from "vitest";
import {
  bankOfCylinder,
  companionOf,
  cylinderList,
  firingOrder,
  ordersFor,
  placeWords,
  usualOrders,
} from "../../shared/firing.ts";
import { readableFacts } from "../../shared/vehicle.ts";

test("a firing order is each cylinder once, however it is parted", () => {
  expect(firingOrder("1-3-4-2")).toEqual([1, 3, 4, 2]);
  expect(firingOrder(" 1, 3, 4, 2 ")).toEqual([1, 3, 4, 2]);
  expect(firingOrder("1 5 3 6 2 4")).toEqual([1, 5, 3, 6, 2, 4]);
  for (const text of ["", "1", "1-3", "1-3-4-4", "0-1", "1-2-x", "1--", "1342", undefined])
    expect([text, firingOrder(text)]).toEqual([text, null]);
  expect(cylinderList("1-3-5")).toEqual([1, 3, 5]);
});

test("whatever is typed, it is read or refused, and what is read is whole", () => {
  fc.assert(
    fc.property(fc.oneof(fc.string(), fc.stringMatching(/^[0-9 ,-]{0,20}$/)), (text) => {
      const order = firingOrder(text);
      if (order === null) return;
      expect([...order].sort((a, b) => a - b)).toEqual(order.map((_, i) => i + 1));
      for (const c of order) {
        const companion = companionOf(order, c);
        expect(companion === null || companionOf(order, companion) === c).toBe(true);
      }
    }),
  );
});

// The pairs of wasted-spark coils on fours and sixes in line: 1 and 4, 2 and 3; 1 and 6, 2 and 5, 3 and 4 (common practice).
test("companions are half a cycle apart", () => {
  const four = [1, 3, 4, 2];
  expect([1, 2, 3, 4].map((c) => companionOf(four, c))).toEqual([4, 3, 2, 1]);
  const six = [1, 5, 3, 6, 2, 4];
  expect([1, 2, 3].map((c) => companionOf(six, c))).toEqual([6, 5, 4]);
  expect(companionOf([1, 2, 4, 5, 3], 1)).toBeNull();
  expect(companionOf(four, 7)).toBeNull();
});

test("banks as far as they were told", () => {
  expect(bankOfCylinder({ layout: "in-line" }, 3)).toBe(1);
  expect(bankOfCylinder({ layout: "v", bank1: "1-3-5" }, 3)).toBe(1);
  expect(bankOfCylinder({ layout: "v", bank1: "1-3-5" }, 4)).toBe(2);
  expect(bankOfCylinder({ layout: "v" }, 4)).toBeNull();
});

test("every usual order is one; they are chosen by cylinders and layout", () => {
  expect(usualOrders.source).toMatch(/memory|common practice/);
  for (const { order } of usualOrders.rows) expect(firingOrder(order)?.join("-"), order).toBe(order);
  expect(ordersFor({ cylinders: 4, layout: "in-line" }).map(({ order }) => order)).toEqual([
    "1-3-4-2",
    "1-2-4-3",
  ]);
  expect(ordersFor({})).toHaveLength(usualOrders.rows.length);
});

test("where a cylinder lies, in words; nothing where nothing was told", () => {
  const facts = { layout: "v", firingOrder: "1-4-2-5-3-6", bank1: "1-2-3" } as const;
  expect(placeWords(facts, 5)).toBe(
    "bank 2; fires after cylinder 2; shares a coil with cylinder 1 where coils are paired",
  );
  expect(placeWords({}, 5)).toBe("");
  expect(placeWords({ firingOrder: "1-3-4-2" }, 9)).toBe("");
});

test("facts keep them, and one that is none takes no other away", () => {
  expect(readableFacts({ firingOrder: "1-3-4-2", layout: "in-line", bank1: "1-2" })).toEqual({
    ...{ firingOrder: "1-3-4-2", layout: "in-line", bank1: "1-2" },
  });
  expect(readableFacts({ firingOrder: "1-3-4-4", cylinders: 4 })).toEqual({ cylinders: 4 });
});
