/**
 * Decision-theoretic troubleshooting: Heckerman, Breese, Rommelse, "Decision-Theoretic Troubleshooting", CACM
 * 38(3), 1995, 49-57 (formulas from memory); Kadane and Simon 1977, cited in Ottosen and Jensen, TR 10-001, Aalborg
 * 2010; the two-cause rule from S. Ross, A First Course in Probability. The tables of numbers were worked by hand
 * from those formulas, not by this program.
 */
import { expect, test } from "vitest";
import {
  afterTest,
  bestOrder,
  bestPlan,
  expectedCost,
  expectedCostWithTest,
  type Fix,
} from "../../src/interpret/causes/cost.ts";

const parts: readonly Fix[] = [
  { p: 0.4, cost: 20 },
  { p: 0.3, cost: 5 },
  { p: 0.2, cost: 40 },
  { p: 0.1, cost: 2 },
];
const named = (order: readonly number[]): string => order.map((i) => "ABCD"[i] ?? "?").join(" ");
const cost = (order: string): number =>
  expectedCost(
    parts,
    order.split(" ").map((c) => "ABCD".indexOf(c)),
  );
const orders = ["A", "B", "C", "D"].flatMap((a) =>
  ["A", "B", "C", "D"].flatMap((b) =>
    ["A", "B", "C", "D"].flatMap((c) =>
      ["A", "B", "C", "D"].filter((d) => new Set([a, b, c, d]).size === 4).map((d) => [a, b, c, d].join(" ")),
    ),
  ),
);

test("four parts: best, by probability, by cost and worst of all 24 orders", () => {
  expect(named(bestOrder(parts))).toBe("B D A C");
  expect(cost("B D A C")).toBeCloseTo(26.4, 10);
  expect(cost("A B C D")).toBeCloseTo(35.2, 10);
  expect(cost("D B A C")).toBeCloseTo(26.5, 10);
  expect(cost("C A D B")).toBeCloseTo(58.3, 10);
  expect(orders).toHaveLength(24);
  expect(Math.min(...orders.map(cost))).toBeCloseTo(26.4, 10);
  expect(Math.max(...orders.map(cost))).toBeCloseTo(58.3, 10);
  expect(bestPlan(parts, 0, Number.POSITIVE_INFINITY)).toMatchObject({ tries: 4 });
  expect(bestPlan(parts, 0, Number.POSITIVE_INFINITY).cost).toBeCloseTo(26.4, 10);
});

test("a perfect test of {A, C} against {B, D} at cost 4", () => {
  const given = [
    [1, 0],
    [0, 1],
    [1, 0],
    [0, 1],
  ];
  const { outcomes, after } = afterTest(parts, given);
  expect(outcomes[0]).toBeCloseTo(0.6, 10);
  expect(outcomes[1]).toBeCloseTo(0.4, 10);
  const [plus, minus] = after;
  if (plus === undefined || minus === undefined) throw new Error("two outcomes expected");
  const first = (order: readonly number[]): string => named(order).slice(0, 3);
  expect(first(bestOrder(plus))).toBe("A C");
  expect(expectedCost(plus, bestOrder(plus))).toBeCloseTo(33.333, 3);
  expect(first(bestOrder(minus))).toBe("B D");
  expect(expectedCost(minus, bestOrder(minus))).toBeCloseTo(5.5, 10);
  expect(expectedCostWithTest(parts, given, 4)).toBeCloseTo(26.2, 10);
  // Break-even: the cost at which doing it and leaving it are worth the same.
  const now = expectedCost(parts, bestOrder(parts));
  expect(now - expectedCostWithTest(parts, given, 0)).toBeCloseTo(4.2, 10);
});

test("an imperfect test: .9 given A or C, .2 given B or D", () => {
  const given = [
    [0.9, 0.1],
    [0.2, 0.8],
    [0.9, 0.1],
    [0.2, 0.8],
  ];
  const { outcomes, after } = afterTest(parts, given);
  expect(outcomes[0]).toBeCloseTo(0.62, 10);
  expect(outcomes[1]).toBeCloseTo(0.38, 10);
  const [plus, minus] = after;
  if (plus === undefined || minus === undefined) throw new Error("two outcomes expected");
  const shown = (fixes: readonly Fix[]): string[] => fixes.map((f) => f.p.toFixed(4));
  expect(shown(plus)).toEqual(["0.5806", "0.0968", "0.2903", "0.0323"]);
  expect(named(bestOrder(plus))).toBe("A B D C");
  expect(expectedCost(plus, bestOrder(plus)).toFixed(4)).toBe("34.3548");
  expect(shown(minus)).toEqual(["0.1053", "0.6316", "0.0526", "0.2105"]);
  expect(named(bestOrder(minus))).toBe("B D A C");
  expect(expectedCost(minus, bestOrder(minus))).toBeCloseTo(11.0, 10);
  expect(expectedCostWithTest(parts, given, 0)).toBeCloseTo(25.48, 10);
  expect(expectedCostWithTest(parts, given, 4)).toBeCloseTo(29.48, 10);
  const now = expectedCost(parts, bestOrder(parts));
  expect(now - expectedCostWithTest(parts, given, 0)).toBeCloseTo(0.92, 10);
});

test("two causes: the first goes first if and only if C1/p <= C2/(1-p)", () => {
  for (const p of [0.05, 0.2, 0.5, 0.7, 0.95]) {
    for (const [c1, c2] of [
      [1, 1],
      [3, 1],
      [10, 40],
      [40, 10],
    ] as const) {
      const first = c1 / p <= c2 / (1 - p);
      const order = bestOrder([
        { p, cost: c1, extra: 70 },
        { p: 1 - p, cost: c2, extra: 3 },
      ]);
      expect(order[0]).toBe(first ? 0 : 1);
    }
  }
});
