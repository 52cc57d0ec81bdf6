import { columnsOf, likelihood, type Question } from "./model.ts";

/** An answer that was seen. */
export interface Observed {
  readonly question: Question;
  /** Place among the question's outcomes. */
  readonly outcome: number;
  /** 1, or less for what is only half seen. */
  readonly weight: number;
}

/**
 * How much each of several answers of one group counts: they tell one story, so the strongest counts full, the
 * second half, the third a third. Takes each one's strength, gives each one's factor.
 */
export function rankWeights(strengths: readonly number[]): number[] {
  const order = strengths.map((_, i) => i).sort((a, b) => (strengths[b] ?? 0) - (strengths[a] ?? 0) || a - b);
  const out = new Array<number>(strengths.length).fill(0);
  order.forEach((i, rank) => (out[i] = 1 / (1 + rank)));
  return out;
}

/** Logarithms of an answer's probability under each hypothesis, and how far apart they are. */
export interface Weighed {
  readonly logs: Float64Array;
  readonly strength: number;
}

export function weigh(observed: Observed, live: readonly boolean[]): Weighed {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  const logs = new Float64Array(live.length);
  for (let h = 0; h < live.length; h++) {
    const value =
      observed.weight * Math.log(Math.max(1e-9, likelihood(observed.question, observed.outcome, h)));
    logs[h] = value;
    if (live[h] !== true) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return { logs, strength: high - low };
}

function groupSum(parts: readonly Weighed[], size: number): Float64Array {
  const sum = new Float64Array(size);
  const factors = rankWeights(parts.map((p) => p.strength));
  parts.forEach((part, i) => {
    const factor = factors[i] ?? 0;
    for (let h = 0; h < size; h++) sum[h] = (sum[h] ?? 0) + factor * (part.logs[h] ?? 0);
  });
  return sum;
}

function normalised(logs: Float64Array): Float64Array {
  const top = logs.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const out = logs.map((l) => Math.exp(l - top));
  const sum = out.reduce((a, b) => a + b, 0);
  return out.map((p) => p / sum);
}

/** Bayes' rule for an answer that stands alone in its group. */
function times(shares: Float64Array, column: Float64Array | undefined): Float64Array {
  const out = new Float64Array(shares.length);
  let sum = 0;
  for (let h = 0; h < out.length; h++) {
    const p = (shares[h] ?? 0) * Math.max(1e-9, column?.[h] ?? 0);
    out[h] = p;
    sum += p;
  }
  for (let h = 0; h < out.length; h++) out[h] = (out[h] ?? 0) / sum;
  return out;
}

/**
 * What is believed of one single fault: shares before, and the answers seen since, by Bayes' rule, answers of one
 * group weakened. Shares are indexed by cause, "none of these" last, and sum to one.
 */
export class Belief {
  readonly shares: Float64Array;
  readonly #live: readonly boolean[];
  readonly #logPrior: Float64Array;
  readonly #groups: ReadonlyMap<string, readonly Weighed[]>;
  readonly #total: Float64Array;

  private constructor(prior: Float64Array, groups: ReadonlyMap<string, readonly Weighed[]>) {
    this.#logPrior = prior.map((p) => Math.log(p));
    this.#live = Array.from(prior, (p) => p > 0);
    this.#groups = groups;
    const total = Float64Array.from(this.#logPrior);
    for (const parts of groups.values()) {
      const sum = groupSum(parts, total.length);
      for (let h = 0; h < total.length; h++) total[h] = (total[h] ?? 0) + (sum[h] ?? 0);
    }
    this.#total = total;
    this.shares = normalised(total);
  }

  static of(prior: Float64Array, seen: readonly Observed[]): Belief {
    const live = Array.from(prior, (p) => p > 0);
    const groups = new Map<string, Weighed[]>();
    for (const one of seen) {
      const list = groups.get(one.question.group) ?? [];
      list.push(weigh(one, live));
      groups.set(one.question.group, list);
    }
    return new Belief(prior, groups);
  }

  /** Logarithm of prior times likelihood of each hypothesis. */
  get unnormalised(): Float64Array {
    return Float64Array.from(this.#total);
  }

  /** Shares if this answer were seen as well. */
  sharesAfter(question: Question, outcome: number): Float64Array {
    const parts = this.#groups.get(question.group) ?? [];
    if (parts.length === 0) return times(this.shares, columnsOf(question)[outcome]);
    const added = weigh({ question, outcome, weight: 1 }, this.#live);
    const before = groupSum(parts, this.#total.length);
    const after = groupSum([...parts, added], this.#total.length);
    return normalised(this.#total.map((t, h) => t - (before[h] ?? 0) + (after[h] ?? 0)));
  }

  /** How probable each outcome of a question is now. Sums to one. */
  expects(question: Question): Float64Array {
    const out = new Float64Array(question.outcomes.length);
    columnsOf(question).forEach((column, k) => {
      let sum = 0;
      for (let h = 0; h < column.length; h++) sum += (this.shares[h] ?? 0) * (column[h] ?? 0);
      out[k] = sum;
    });
    return out;
  }
}
