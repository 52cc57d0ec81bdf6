/**
 * Expected cost of finding a single fault, by decision-theoretic troubleshooting: Heckerman, Breese and Rommelse,
 * CACM 38(3), 1995, 49-57; the order by falling p/C also Kadane and Simon 1977. Costs in one unit of the caller's.
 */

export interface Fix {
  /** Probability that this is the fault. */
  readonly p: number;
  /** Cost of trying it when it is not the fault. */
  readonly cost: number;
  /** What mending it costs beyond that when it is: paid in any order, so it never moves the order. */
  readonly extra?: number;
}

/** sum over i of (1 - sum over j before i of p_j) * C_i, plus sum of p_i * extra_i, tried in the order given. */
export function expectedCost(fixes: readonly Fix[], order: readonly number[]): number {
  let left = 1;
  let sum = 0;
  for (const i of order) {
    const fix = fixes[i];
    if (fix === undefined) continue;
    sum += left * fix.cost + fix.p * (fix.extra ?? 0);
    left -= fix.p;
  }
  return sum;
}

/** Indices by falling p/C: the order of least expected cost. Ties keep the given order. */
export function bestOrder(fixes: readonly Fix[]): number[] {
  return fixes
    .map((_, i) => i)
    .sort((a, b) => {
      const x = fixes[a];
      const y = fixes[b];
      if (x === undefined || y === undefined) return a - b;
      // Multiplied out, so that a cost of 0 needs no infinity.
      const difference = y.p * x.cost - x.p * y.cost;
      return difference === 0 ? a - b : difference;
    });
}

export interface Plan {
  readonly order: readonly number[];
  /** How many of the order are worth trying before giving up. */
  readonly tries: number;
  readonly cost: number;
}

/**
 * The best order, and how far to follow it when what is left may be none of them: giving up costs `giveUp` once
 * the tries are used up without success. With an infinite price every fix is tried.
 */
export function bestPlan(fixes: readonly Fix[], none: number, giveUp: number): Plan {
  const order = bestOrder(fixes);
  let left = none + fixes.reduce((sum, f) => sum + f.p, 0);
  let spent = 0;
  let best: { tries: number; cost: number } = { tries: 0, cost: priced(left, giveUp) };
  order.forEach((i, k) => {
    const fix = fixes[i];
    if (fix === undefined) return;
    spent += left * fix.cost + fix.p * (fix.extra ?? 0);
    left -= fix.p;
    const cost = spent + priced(Math.max(0, left), giveUp);
    if (cost < best.cost - 1e-12) best = { tries: k + 1, cost };
  });
  return { order, tries: best.tries, cost: best.cost };
}

/** What rounding leaves of a probability costs nothing, however dear giving up is. */
function priced(left: number, giveUp: number): number {
  return left < 1e-12 ? 0 : left * giveUp;
}

export interface Tested {
  /** Probability of each outcome. */
  readonly outcomes: readonly number[];
  readonly after: readonly (readonly Fix[])[];
}

/**
 * What a pure test does to the probabilities, by Bayes' rule. `given[i]` are the probabilities of the outcomes when
 * fix i is the fault.
 */
export function afterTest(fixes: readonly Fix[], given: readonly (readonly number[])[]): Tested {
  const width = given[0]?.length ?? 0;
  const outcomes: number[] = [];
  const after: Fix[][] = [];
  for (let k = 0; k < width; k++) {
    const joint = fixes.map((f, i) => f.p * (given[i]?.[k] ?? 0));
    const total = joint.reduce((a, b) => a + b, 0);
    outcomes.push(total);
    after.push(fixes.map((f, i) => ({ ...f, p: total === 0 ? 0 : (joint[i] ?? 0) / total })));
  }
  return { outcomes, after };
}

/** C_T + sum over outcomes k of P(k) * ECR(best order given k): one step of looking ahead. */
export function expectedCostWithTest(
  fixes: readonly Fix[],
  given: readonly (readonly number[])[],
  testCost: number,
): number {
  const { outcomes, after } = afterTest(fixes, given);
  return after.reduce(
    (sum, fix, k) => sum + (outcomes[k] ?? 0) * expectedCost(fix, bestOrder(fix)),
    testCost,
  );
}
