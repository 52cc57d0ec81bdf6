/** Orders of trying: against every order there is, for random tables of up to seven causes. */
import fc from "fast-check";
import { expect, test } from "vitest";
import {
  afterTest,
  bestOrder,
  bestPlan,
  expectedCost,
  expectedCostWithTest,
  type Fix,
} from "../../src/interpret/causes/cost.ts";

function permutations(n: number): number[][] {
  if (n === 0) return [[]];
  return permutations(n - 1).flatMap((rest) =>
    Array.from({ length: n }, (_, at) => [...rest.slice(0, at), n - 1, ...rest.slice(at)]),
  );
}

const fixes = fc
  .array(
    fc.record({
      w: fc.double({ min: 0.001, max: 1, noNaN: true }),
      cost: fc.double({ min: 0, max: 500, noNaN: true }),
      extra: fc.double({ min: 0, max: 500, noNaN: true }),
    }),
    { minLength: 1, maxLength: 7 },
  )
  .map((rows) => {
    const sum = rows.reduce((a, r) => a + r.w, 0);
    return rows.map((r): Fix => ({ p: r.w / sum, cost: r.cost, extra: r.extra }));
  });

test("no order of all is cheaper than by falling p/C", () => {
  fc.assert(
    fc.property(fixes, (table) => {
      const best = expectedCost(table, bestOrder(table));
      const least = Math.min(...permutations(table.length).map((order) => expectedCost(table, order)));
      expect(best).toBeLessThanOrEqual(least + 1e-9 * (1 + least));
      expect(best).toBeGreaterThanOrEqual(least - 1e-9 * (1 + least));
    }),
    { numRuns: 60 },
  );
});

test("with something left over and a price for giving up, no order and no number of tries is cheaper", () => {
  fc.assert(
    fc.property(
      fixes.filter((t) => t.length <= 6),
      fc.double({ min: 0, max: 0.9, noNaN: true }),
      fc.double({ min: 0, max: 2000, noNaN: true }),
      (table, none, giveUp) => {
        const scaled = table.map((f) => ({ ...f, extra: 0, p: f.p * (1 - none) }));
        let least = Number.POSITIVE_INFINITY;
        for (const order of permutations(scaled.length)) {
          for (let tries = 0; tries <= order.length; tries++) {
            const tried = order.slice(0, tries);
            const left = 1 - tried.reduce((sum, i) => sum + (scaled[i]?.p ?? 0), 0);
            least = Math.min(least, expectedCost(scaled, tried) + Math.max(0, left) * giveUp);
          }
        }
        const plan = bestPlan(scaled, none, giveUp);
        expect(Math.abs(plan.cost - least)).toBeLessThan(1e-6 * (1 + least));
      },
    ),
    { numRuns: 40 },
  );
});

test("what mending the true fault costs beyond a try never moves the order", () => {
  fc.assert(
    fc.property(fixes, (table) => {
      expect(bestOrder(table)).toEqual(bestOrder(table.map(({ p, cost }) => ({ p, cost }))));
    }),
  );
});

test("a test that costs nothing never raises the expected cost, and one that tells nothing saves nothing", () => {
  fc.assert(
    fc.property(
      fixes,
      fc.array(fc.double({ min: 0.01, max: 0.99, noNaN: true }), { minLength: 7, maxLength: 7 }),
      (table, rows) => {
        const now = expectedCost(table, bestOrder(table));
        const given = table.map((_, i) => [rows[i] ?? 0.5, 1 - (rows[i] ?? 0.5)]);
        expect(expectedCostWithTest(table, given, 0)).toBeLessThanOrEqual(now + 1e-9 * (1 + now));
        const deaf = table.map(() => [0.3, 0.7]);
        expect(expectedCostWithTest(table, deaf, 0)).toBeCloseTo(now, 6);
        const { outcomes, after } = afterTest(table, given);
        expect(outcomes.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 10);
        for (const fix of after) expect(fix.reduce((a, f) => a + f.p, 0)).toBeCloseTo(1, 10);
      },
    ),
  );
});
