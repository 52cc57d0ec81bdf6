/** Why: what speaks for and against a cause, and what a check would separate. */
import type { Evidence } from "./evidence.ts";
import type { Considered } from "./visit.ts";
import { actOf, likelihood, likelihoodOfBoth, type Model } from "./model.ts";
import { couldChange, leastToBuy, type Repair } from "./next.ts";
import type { Weighed } from "./weighed.ts";
import type { Pair } from "./hypotheses.ts";

/** An answer speaks for or against a cause when it is so many times likelier with it than with the rest (estimate). */
const speaking = 1.5;

export interface Speaking {
  readonly one: Evidence;
  /** Above 1 for, below 1 against. */
  readonly factor: number;
}

/** What speaks for and against the cause at this place, strongest first. */
export function speaks(place: number, considered: Considered): { for: Speaking[]; against: Speaking[] } {
  const { prior, evidence } = considered;
  const all = evidence.map((one): Speaking => {
    let rest = 0;
    let weight = 0;
    prior.forEach((share, h) => {
      if (h === place || share === 0) return;
      rest += share * likelihood(one.question, one.outcome, h);
      weight += share;
    });
    const own = likelihood(one.question, one.outcome, place);
    const factor = weight === 0 || rest === 0 ? 1 : (own / (rest / weight)) ** one.weight;
    return { one, factor };
  });
  const by = (a: Speaking, b: Speaking): number =>
    Math.abs(Math.log(b.factor)) - Math.abs(Math.log(a.factor));
  return {
    // What is healthy takes others off the list; it is nothing that speaks for what stays on it.
    for: all.filter((s) => s.factor >= speaking && mayPlead(s.one, place, considered)).sort(by),
    against: all.filter((s) => s.factor <= 1 / speaking).sort(by),
  };
}

/** A healthy outcome speaks for a cause only where its row says why, or the cause comes and goes by itself. */
function mayPlead({ question, outcome }: Evidence, place: number, { model }: Considered): boolean {
  if (question.normal[outcome] !== true) return true;
  if ((question.rowOf[place] ?? 0) === 0) return false;
  return question.why[outcome] !== undefined || model.causes[place]?.intermittent === true;
}

/** Two causes of which each explains an answer that the other does not: only then are two told. */
export function needsBoth(pair: Pair, considered: Considered): { a: Evidence; b: Evidence } | null {
  const best = (own: number, other: number): Evidence | undefined =>
    considered.evidence
      .map((one) => ({
        one,
        factor: likelihood(one.question, one.outcome, own) / likelihood(one.question, one.outcome, other),
      }))
      .filter(
        ({ one, factor }) =>
          factor >= 3 &&
          one.question.normal[one.outcome] !== true &&
          likelihoodOfBoth(one.question, one.outcome, own, other) >=
            likelihood(one.question, one.outcome, other),
      )
      .sort((x, y) => y.factor - x.factor)[0]?.one;
  const a = best(pair.a, pair.b);
  const b = best(pair.b, pair.a);
  return a === undefined || b === undefined ? null : { a, b };
}

/** Place of the likeliest cause and its share; the place after the last is "none of these". */
export function likeliest(shares: Float64Array): { place: number; share: number } {
  const share = shares.reduce((a, b) => Math.max(a, b), 0);
  return { place: shares.indexOf(share), share };
}

export const nameAt = (model: Model, place: number): string => model.causes[place]?.name ?? "none of these";

/** What would come first after an outcome: "Fuel pump dead, likely; ahead of the others". */
export function afterwards(weighed: Weighed, k: number, considered: Considered): string {
  const after = weighed.outcomes[k];
  if (after === undefined) return "";
  const now = likeliest(considered.held.belief.shares);
  const then = likeliest(after.shares);
  const name = nameAt(considered.model, then.place);
  const moved = then.share - (considered.held.belief.shares[then.place] ?? 0);
  if (then.place !== now.place) return `${name} would come first`;
  const act = actOfPlace(then.place, considered);
  const bought = (shares: Float64Array): boolean =>
    act !== null && shareOfAct(act, shares, considered) >= leastToBuy;
  if (bought(after.shares) && !bought(considered.held.belief.shares))
    return `${name} would stay first, sure enough to repair`;
  if (moved > 0.05) return `${name} would be surer`;
  if (moved < -0.05) return `${name} would stay first, less surely`;
  return `${name} would stay first`;
}

function actOfPlace(place: number, { model }: Considered): string | null {
  const row = model.causes[place];
  return row === undefined ? null : actOf(row);
}

/** Share of all causes that one repair mends. */
export function shareOfAct(act: string, shares: Float64Array, { model }: Considered): number {
  return model.causes.reduce((sum, row, h) => sum + (actOf(row) === act ? (shares[h] ?? 0) : 0), 0);
}

/** "A", "A or B", "A, B or C". */
function oneOf(names: readonly string[]): string {
  const last = names.at(-1) ?? "";
  return names.length < 2 ? last : `${names.slice(0, -1).join(", ")} or ${last}`;
}

/** The likely causes that a check tells from each other: "A or B from C or D". */
export function separates(weighed: Weighed, considered: Considered): string {
  const { model, held } = considered;
  const places = model.causes
    .map((_, h) => h)
    .filter((h) => (held.belief.shares[h] ?? 0) >= couldChange)
    .sort((a, b) => (held.belief.shares[b] ?? 0) - (held.belief.shares[a] ?? 0))
    .slice(0, 6);
  const sides = new Map<string, string[]>();
  for (const h of places) {
    let best = 0;
    let lift = 0;
    weighed.question.outcomes.forEach((_, k) => {
      const factor = likelihood(weighed.question, k, h) / Math.max(weighed.outcomes[k]?.p ?? 0, 1e-6);
      if (factor > lift) {
        lift = factor;
        best = k;
      }
    });
    const outcome = weighed.question.outcomes[best] ?? "";
    sides.set(outcome, [...(sides.get(outcome) ?? []), nameAt(model, h).toLowerCase()]);
  }
  const lists = [...sides.values()].map((names) => oneOf(names));
  if (lists.length < 2) return lists[0] === undefined ? "" : `${lists[0]} from the rest`;
  return lists.join(" from ");
}

/** The likeliest cause that a repair mends. */
export function causeOf(repair: Repair, considered: Considered): number {
  const { shares } = considered.held;
  return [...repair.causes].sort((a, b) => (shares[b] ?? 0) - (shares[a] ?? 0))[0] ?? -1;
}

export function repairFor(place: number, considered: Considered): string {
  const cause = considered.model.causes[place];
  return cause === undefined ? "" : actOf(cause);
}
