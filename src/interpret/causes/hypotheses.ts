/** One fault or two, weighed together against all that was seen; and how far the answer hangs on the tables. */
import { seeded } from "../../../shared/seeded.ts";
import { quantileSorted } from "../maths/stats.ts";
import { Belief, rankWeights, weigh } from "./belief.ts";
import type { Evidence } from "./evidence.ts";
import { likelihood, likelihoodOfBoth, noneRow, shaken, type Model, type Question } from "./model.ts";

/** A cause that was mended though part of the trouble stayed: what was seen before has it in it. */
export interface Mended {
  readonly place: number;
  /** Milliseconds since 1970. */
  readonly at: number;
}

export interface Pair {
  readonly a: number;
  readonly b: number;
  readonly share: number;
}

export interface Held {
  /** Share of each cause being there, alone or with another; "none of these" last. */
  readonly shares: Float64Array;
  /** Belief in one fault alone: what the next check is chosen on. */
  readonly belief: Belief;
  /** Two at once, most likely first. */
  readonly pairs: readonly Pair[];
}

/** Share kept for two faults at once before anything is seen. An estimate. */
const pairShare = 0.08;
/** How likely a cause that was mended is to be still there, against before. An estimate. */
const stillThere = 0.05;

/** A question as it stands while a known cause is there as well. */
function withKnown(q: Question, known: number): Question {
  const rows: Float64Array[] = [q.rows[q.rowOf[known] ?? 0] ?? new Float64Array()];
  const rowOf = new Int16Array(q.rowOf.length);
  for (let h = 0; h < rowOf.length; h++) {
    if (q.rowOf[h] === 0) continue;
    rowOf[h] = rows.length;
    rows.push(Float64Array.from(q.outcomes, (_, k) => likelihoodOfBoth(q, k, h, known)));
  }
  const first = rows[0] ?? new Float64Array();
  return { ...q, rows, rowOf, none: q.rowOf[known] === 0 ? q.none : noneRow(first) };
}

function placedIn(model: Model, evidence: readonly Evidence[], mended: readonly Mended[]): Evidence[] {
  return evidence.map((one) => {
    let question = model.questions.get(one.question.id) ?? one.question;
    if (one.source !== "act") {
      for (const m of mended) if (one.at !== null && one.at < m.at) question = withKnown(question, m.place);
    }
    return { ...one, question };
  });
}

/** Shares of all causes by Bayes' rule, one fault or two. `prior` sums to one, "none of these" last. */
export function hold(
  model: Model,
  prior: Float64Array,
  evidence: readonly Evidence[],
  mended: readonly Mended[],
): Held {
  const seen = placedIn(model, evidence, mended);
  const before = Float64Array.from(prior);
  for (const m of mended) before[m.place] = (before[m.place] ?? 0) * stillThere;
  const belief = Belief.of(before, seen);
  const none = before.length - 1;
  const live = Array.from(before, (p) => p > 0);
  const factors = factorsOf(seen, live);
  const candidates = candidatesFor(belief, seen, live);
  const p = (h: number): number => before[h] ?? 0;
  let sum = 0;
  let squares = 0;
  for (let h = 0; h < none; h++) {
    sum += p(h);
    squares += p(h) ** 2;
  }
  const norm = (sum * sum - squares) / 2;
  const scored: { a: number; b: number; log: number }[] = [];
  for (const [i, a] of candidates.entries()) {
    for (const b of candidates.slice(i + 1)) {
      let log = Math.log((pairShare * p(a) * p(b)) / norm);
      seen.forEach((one, k) => {
        const both = Math.max(1e-9, likelihoodOfBoth(one.question, one.outcome, a, b));
        log += (factors[k] ?? 0) * one.weight * Math.log(both);
      });
      scored.push({ a, b, log });
    }
  }
  return joined(belief, scored);
}

function joined(belief: Belief, scored: readonly { a: number; b: number; log: number }[]): Held {
  const single = belief.unnormalised.map((l) => l + Math.log(1 - pairShare));
  let top = single.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  for (const s of scored) top = Math.max(top, s.log);
  const shares = single.map((l) => Math.exp(l - top));
  const pairs = scored.map((s) => ({ a: s.a, b: s.b, share: Math.exp(s.log - top) }));
  const total = shares.reduce((a, b) => a + b, 0) + pairs.reduce((a, b) => a + b.share, 0);
  for (const pair of pairs) {
    shares[pair.a] = (shares[pair.a] ?? 0) + pair.share;
    shares[pair.b] = (shares[pair.b] ?? 0) + pair.share;
  }
  return {
    shares: shares.map((s) => s / total),
    belief,
    pairs: pairs.map((s) => ({ ...s, share: s.share / total })).sort((x, y) => y.share - x.share),
  };
}

/** How much each answer counts beside the others of its group. */
function factorsOf(seen: readonly Evidence[], live: readonly boolean[]): number[] {
  const byGroup = new Map<string, number[]>();
  seen.forEach((one, i) => {
    byGroup.set(one.question.group, [...(byGroup.get(one.question.group) ?? []), i]);
  });
  const out = new Array<number>(seen.length).fill(0);
  for (const members of byGroup.values()) {
    const strengths = members.map((i) => {
      const one = seen[i];
      return one === undefined ? 0 : weigh(one, live).strength;
    });
    rankWeights(strengths).forEach((factor, k) => {
      const i = members[k];
      if (i !== undefined) out[i] = factor;
    });
  }
  return out;
}

/** Causes worth pairing: the likeliest alone, and for each answer those that explain it best. */
function candidatesFor(belief: Belief, seen: readonly Evidence[], live: readonly boolean[]): number[] {
  const count = live.length - 1;
  const all = Array.from({ length: count }, (_, h) => h).filter((h) => live[h] === true);
  const best = (score: (h: number) => number, most: number): number[] =>
    [...all].sort((a, b) => score(b) - score(a) || a - b).slice(0, most);
  const out = new Set(best((h) => belief.shares[h] ?? 0, 10));
  for (const one of seen) {
    for (const h of best((h) => likelihood(one.question, one.outcome, h), 3)) out.add(h);
  }
  return [...out].sort((a, b) => a - b);
}

export interface Band {
  readonly low: number;
  readonly high: number;
}

export interface Steadiness {
  /** 10th to 90th percentile of each share over the shaken tables. */
  readonly bands: readonly Band[];
  /** How often each place came first. */
  readonly first: Float64Array;
}

export const shaking = { draws: 40, seed: 20_260_917, most: 2 } as const;
const cache = new WeakMap<Model, readonly Model[]>();

/** The same shaken tables every time: one seed. */
export function shakenModels(model: Model): readonly Model[] {
  const known = cache.get(model);
  if (known !== undefined) return known;
  const random = seeded(shaking.seed);
  const made = Array.from({ length: shaking.draws }, () => shaken(model, random, shaking.most));
  cache.set(model, made);
  return made;
}

/** Recomputes the shares over shaken tables. `again` gives the shares that hold under a model. */
export function steadiness(model: Model, again: (model: Model) => Float64Array): Steadiness {
  return steadinessOf(model, shakenModels(model).map(again));
}

/** How steady the order is, from the shares under each of the shaken tables. */
export function steadinessOf(model: Model, runs: readonly Float64Array[]): Steadiness {
  const count = model.causes.length + 1;
  const first = new Float64Array(count);
  for (const run of runs) {
    const at = run.indexOf(run.reduce((a, b) => Math.max(a, b), 0));
    first[at] = (first[at] ?? 0) + 1 / runs.length;
  }
  const bands = Array.from({ length: count }, (_, h) => {
    const sorted = Float64Array.from(runs, (r) => r[h] ?? 0).sort();
    return { low: quantileSorted(sorted, 0.1), high: quantileSorted(sorted, 0.9) };
  });
  return { bands, first };
}
