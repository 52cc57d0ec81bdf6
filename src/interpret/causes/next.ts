/**
 * Which check is worth doing next. Repairs in the order of falling p/C; a check that only tells is worth doing when
 * it lowers the expected cost, looked ahead one step (Heckerman, Breese, Rommelse 1995). Of several that do, the one
 * goes first that saves most for what it costs. Money and time stand on one scale: what an hour is worth.
 */
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { Belief } from "./belief.ts";
import { bestPlan, type Fix, type Plan } from "./cost.ts";
import { actOf, checkQuestion, fits, type Model, type Question } from "./model.ts";
import type { Log } from "./results.ts";
import { swapsFor } from "./swaps.ts";
import type { Possible, Weighed } from "./weighed.ts";
import {
  akin,
  states,
  type Before,
  type CauseRow,
  type Complaint,
  type HandCheckRow,
  type State,
} from "./types.ts";

export interface Preferences {
  /** What an hour of the person's time is worth, in their money. 0 counts money alone. */
  readonly perHour: number;
  /** What it costs to hand the vehicle to someone else unsolved, beyond the repair itself. */
  readonly giveUp: number;
  /** Tools the person does not have. */
  readonly lacking: readonly string[];
  /** Checks the person does not want to do. */
  readonly declined: readonly string[];
}

/** Repairs that were done and left the fault as it was: not advised again. */
export type Tried = ReadonlySet<string>;
const nothingTried: Tried = new Set();

export const usualPreferences: Preferences = { perHour: 40, giveUp: 400, lacking: [], declined: [] };

/** Below this probability an outcome counts as not to be expected. An estimate. */
export const couldChange = 0.02;
/** A check that turns the order less often than this does not go before work that costs no part and is likely. An estimate. */
const oftenTurns = 0.1;
/** Only a check that costs less than this share of the work itself goes before it. An estimate. */
const quickerThanWork = 0.5;
/** Below this share nothing is bought, even where the sums would have it: a part is no guess. */
export const leastToBuy = 0.5;
/** A check is thought of when it tells of a cause that has this share at least. */
const worthAsking = 0.003;

const middle = ([low, high]: readonly [number, number]): number => (low + high) / 2;

export const timeCost = (minutes: number, perHour: number): number => (minutes / 60) * perHour;

/** What a repair costs, and what of it is lost when it was a bad guess. */
export function repairCost(
  cause: CauseRow,
  perHour: number,
): { readonly full: number; readonly guess: number } {
  const time = timeCost(middle(cause.repair.minutes), perHour);
  return { full: middle(cause.repair.money) + time, guess: cause.badGuess.money + time };
}

export interface Repair {
  readonly act: string;
  /** Places of the causes that it mends. */
  readonly causes: readonly number[];
  /** Something is bought for it. */
  readonly buys: boolean;
  readonly guess: number;
  readonly full: number;
}

/** Repairs that mend any of the causes, several causes by one act taken together. */
export function repairsOf(model: Model, perHour: number): Repair[] {
  const byAct = new Map<string, number[]>();
  model.causes.forEach((c, i) => byAct.set(actOf(c), [...(byAct.get(actOf(c)) ?? []), i]));
  return [...byAct].map(([act, places]) => {
    const rows = places.flatMap((i) => model.causes[i] ?? []);
    const costs = rows.map((r) => repairCost(r, perHour));
    return {
      act,
      causes: places,
      buys: rows.some((r) => r.repair.part !== null),
      guess: Math.max(...costs.map((c) => c.guess)),
      full: Math.max(...costs.map((c) => c.full)),
    };
  });
}

/** Repairs less likely to be right than this are not planned with. */
const leastShare = 1e-4;

/** The order of repairs and how far to follow it; the order is of places in `repairs`. */
export function planFor(shares: Float64Array, repairs: readonly Repair[], giveUp: number): Plan {
  const fixes: Fix[] = [];
  const places: number[] = [];
  let planned = 0;
  repairs.forEach((r, i) => {
    let p = 0;
    for (const c of r.causes) p += shares[c] ?? 0;
    if (p < leastShare) return;
    planned += p;
    places.push(i);
    // Mending the true fault is paid in any case, here or elsewhere: only what is lost on the way counts.
    fixes.push({ p, cost: r.guess, extra: -r.guess });
  });
  const plan = bestPlan(fixes, Math.max(0, 1 - planned), giveUp);
  return { ...plan, order: plan.order.map((k) => places[k] ?? -1) };
}

export interface Able {
  readonly complaints: readonly Complaint[];
  readonly facts: VehicleFacts;
  readonly log: Log;
  readonly state: State;
  readonly preferences: Preferences;
  /** Checks that a recording has answered already. */
  readonly answered: ReadonlySet<string>;
}

export type Skip = "done" | "tool" | "first" | "state" | "declined";

export interface Skipped {
  readonly check: HandCheckRow;
  readonly why: Skip;
  /** The tools that are lacking, or the checks that come first. */
  readonly needs: readonly string[];
}

function met(before: Before, done: ReadonlyMap<string, string | null>): boolean {
  const outcome = done.get(before.check);
  return outcome !== null && outcome !== undefined && before.outcomes?.includes(outcome) !== false;
}

/** Which checks can be done now and what each costs, and which not, with the reason. */
export function possibleChecks(
  model: Model,
  able: Able,
): { possible: Possible[]; skipped: Skipped[]; waiting: Waiting[] } {
  const possible: Possible[] = [];
  const waiting: Waiting[] = [];
  const skipped: Skipped[] = [];
  const done = new Map<string, string | null>();
  for (const r of able.log.results)
    if (r.state === "used" || r.state === "unclear") done.set(r.check, r.outcome);
  const opened = new Set([...done.keys()].flatMap((id) => model.checks.get(id)?.opens ?? []));
  const about = new Set(able.complaints.flatMap((c) => [c, ...(akin[c] ?? [])]));
  for (const check of model.checks.values()) {
    if (!fits(check.only, able.facts)) continue;
    if (check.for !== undefined && !check.for.some((c) => about.has(c))) continue;
    const skip = (why: Skip, needs: readonly string[] = []): void => {
      skipped.push({ check, why, needs });
    };
    const lacking = check.tools.filter((t) => able.preferences.lacking.includes(t));
    const first = (check.after ?? []).filter(
      (a) => !met(a, done) && !(a.or !== undefined && met(a.or, done)),
    );
    if (done.has(check.id) || able.answered.has(check.id)) skip("done");
    else if (able.preferences.declined.includes(check.id)) skip("declined");
    else if (states.indexOf(check.state) > states.indexOf(able.state)) skip("state");
    else if (lacking.length > 0) skip("tool", lacking);
    else {
      const one = priced(check, { model, opened, perHour: able.preferences.perHour });
      if (one === null) continue;
      const needs = first.map((a) => a.check);
      if (needs.length === 0) possible.push(one);
      else skip("first", needs);
      if (needs.length === 1) waiting.push({ then: one, first: needs[0] ?? "" });
    }
  }
  return { possible, skipped, waiting };
}

interface Prices {
  readonly model: Model;
  /** What is open already. */
  readonly opened: ReadonlySet<string>;
  readonly perHour: number;
}

function priced(check: HandCheckRow, { model, opened, perHour }: Prices): Possible | null {
  const question = model.questions.get(checkQuestion(check.id));
  if (question === undefined) return null;
  const near = check.opens !== undefined && opened.has(check.opens);
  const minutes = near ? (check.minutesOpen ?? check.minutes) : check.minutes;
  return { check, question, minutes, cost: check.money + timeCost(minutes, perHour) };
}

/** A check that could be done as soon as another is. */
export interface Waiting {
  readonly then: Possible;
  readonly first: string;
}

export type Choice =
  | {
      readonly kind: "check";
      readonly check: Weighed;
      readonly why: "saves" | "opens" | "before-buying" | "before-work" | "adds-up";
    }
  | { readonly kind: "repair"; readonly repair: Repair; readonly p: number }
  | { readonly kind: "give-up" };

export interface Decision {
  readonly choice: Choice;
  /** Expected cost without a further check, and with what was chosen. */
  readonly without: number;
  readonly expected: number;
  readonly plan: Plan;
  /** Other checks worth thinking of, best first. */
  readonly others: readonly Weighed[];
}

const firstOf = (plan: Plan): number => (plan.tries === 0 ? -1 : (plan.order[0] ?? -1));

interface Ground {
  readonly repairs: readonly Repair[];
  readonly giveUp: number;
  /** Expected cost, and the repair that would be first, without a check. */
  readonly now: number;
  readonly first: number;
}

const shareOf = ({ causes }: Repair, shares: Float64Array): number =>
  causes.reduce((sum, i) => sum + (shares[i] ?? 0), 0);

/** Whether what the first repair needs is likely enough to be the fault to be bought. */
function wouldBuy({ repairs, first }: Ground, shares: Float64Array): boolean {
  const repair = repairs[first];
  return repair !== undefined && (!repair.buys || shareOf(repair, shares) >= leastToBuy);
}

/** The repair, by its place, that most speaks for. */
function likeliestAct(shares: Float64Array, repairs: readonly Repair[]): number {
  let best = -1;
  let most = 0;
  repairs.forEach((repair, i) => {
    const share = shareOf(repair, shares);
    if (share <= most) return;
    most = share;
    best = i;
  });
  return best;
}

function weighCheck<T extends Pick<Possible, "question" | "cost">>(
  belief: Belief,
  one: T,
  ground: Ground,
): T & Omit<Weighed, keyof Possible> {
  const { now, first } = ground;
  const expects = belief.expects(one.question);
  const likeliest = likeliestAct(belief.shares, ground.repairs);
  let expected = one.cost;
  let changes = 0;
  let reorders = 0;
  const outcomes = one.question.outcomes.map((outcome, k) => {
    const p = expects[k] ?? 0;
    const shares = belief.sharesAfter(one.question, k);
    const plan = planFor(shares, ground.repairs, ground.giveUp);
    expected += p * plan.cost;
    const other = firstOf(plan) !== first || wouldBuy(ground, shares) !== wouldBuy(ground, belief.shares);
    if (p >= couldChange && other) changes += p;
    const moved = firstOf(plan) !== first || likeliestAct(shares, ground.repairs) !== likeliest;
    if (p >= couldChange && moved) reorders += p;
    return { outcome, p, shares, plan };
  });
  const saved = now - (expected - one.cost);
  return { ...one, expected, outcomes, changes, reorders, worth: saved / Math.max(one.cost, 0.01) };
}

interface Ways {
  readonly possible: readonly Possible[];
  readonly waiting: readonly Waiting[];
  readonly weighed: readonly Weighed[];
}

/** When no check pays alone: one that lets another follow, when the two together pay. */
function wayTo(belief: Belief, ways: Ways, ground: Ground): { first: Weighed; expected: number } | null {
  let best: { first: Weighed; expected: number } | null = null;
  for (const { then, first } of ways.waiting) {
    const open = ways.possible.find((p) => p.check.id === first);
    if (open === undefined) continue;
    const both = weighCheck(belief, { ...then, cost: then.cost + open.cost }, ground);
    if (both.expected >= ground.now - 1e-9 || (best !== null && best.expected <= both.expected)) continue;
    best = { first: weighCheck(belief, open, ground), expected: both.expected };
  }
  return best;
}

/** What one check would do, whether it pays or not. */
export function weighOne(belief: Belief, one: Possible, by: WeighBy): Weighed {
  return weighCheck(belief, one, groundOf(belief, by));
}

/** Tells of each question what its answer would save on average, whatever it costs to get. */
export function savings(belief: Belief, by: WeighBy): (question: Question) => number {
  const ground = groundOf(belief, by);
  return (question) => ground.now - weighCheck(belief, { question, cost: 0 }, ground).expected;
}

/** What a decision is made on beside what is believed. */
export interface WeighBy {
  readonly model: Model;
  readonly preferences: Preferences;
  readonly tried?: Tried;
  readonly waiting?: readonly Waiting[];
}

function groundOf(
  belief: Belief,
  { model, preferences, tried = nothingTried }: WeighBy,
): Ground & { plan: Plan } {
  const repairs = repairsOf(model, preferences.perHour).filter((r) => !tried.has(r.act));
  const { giveUp } = preferences;
  const plan = planFor(belief.shares, repairs, giveUp);
  return { repairs, giveUp, now: plan.cost, first: firstOf(plan), plan };
}

/**
 * Where the likely cause is mended without a part, and what pays is about causes that nobody thinks of: the quickest
 * check that tells whether the work would be in vain, if it is quicker than the work. Null where something that pays
 * turns the order often enough, or nothing does.
 */
function beforeWork(
  paying: readonly Weighed[],
  weighed: readonly Weighed[],
  { repair, shares }: { readonly repair: Repair | undefined; readonly shares: Float64Array },
): Weighed | undefined {
  if (repair === undefined || repair.buys || shareOf(repair, shares) < leastToBuy) return undefined;
  if (paying.some((w) => w.reorders >= oftenTurns)) return undefined;
  return weighed
    .filter((w) => w.reorders >= oftenTurns && w.cost < quickerThanWork * repair.full)
    .sort((a, b) => a.expected - b.expected)[0];
}

/**
 * The next thing to do. A repair that buys something never stands first while a cheaper check that is at hand could
 * still, with a probability worth the name, make another thing the next one.
 */
export function decide(belief: Belief, possible: readonly Possible[], by: WeighBy): Decision {
  const ground = groundOf(belief, by);
  const { repairs, plan, first } = ground;
  const telling = possible.filter(({ question }) =>
    belief.shares.some((share, h) => share >= worthAsking && (question.rowOf[h] ?? 0) > 0),
  );
  const weighed = telling
    .map((one) => weighCheck(belief, one, ground))
    .sort((a, b) => b.worth - a.worth || a.cost - b.cost);
  const paying = weighed.filter((w) => w.expected < plan.cost - 1e-9);
  const swaps = swapsFor(belief, weighed, by.model);
  const others = (chosen?: Weighed): Weighed[] => {
    const rest = [...paying.filter((w) => w !== chosen).slice(0, 3), ...swaps.filter((w) => w !== chosen)];
    return [...new Set(rest)];
  };
  const common = { without: plan.cost, plan };
  // What leaves everything where it is, whatever comes of it, does not go first.
  const best =
    beforeWork(paying, weighed, { repair: repairs[first], shares: belief.shares }) ??
    paying.find((w) => w.reorders >= couldChange) ??
    paying.find((w) => w.changes >= couldChange);
  if (best !== undefined) {
    const why = paying.includes(best) ? "saves" : "before-work";
    return {
      ...common,
      choice: { kind: "check", check: best, why },
      expected: best.expected,
      others: others(best),
    };
  }
  const way = wayTo(belief, { possible, waiting: by.waiting ?? [], weighed }, ground);
  if (way !== null) {
    const choice: Choice = { kind: "check", check: way.first, why: "opens" };
    return { ...common, choice, expected: way.expected, others: [] };
  }
  const repair = first < 0 ? undefined : repairs[first];
  const [slow] = paying;
  const stuck = repair === undefined || (repair.buys && shareOf(repair, belief.shares) < leastToBuy);
  // Nothing turns it at once, yet several together may: better than to give up.
  if (stuck && slow !== undefined) {
    const choice: Choice = { kind: "check", check: slow, why: "adds-up" };
    return { ...common, choice, expected: slow.expected, others: others(slow) };
  }
  if (repair === undefined)
    return { ...common, choice: { kind: "give-up" }, expected: plan.cost, others: others() };
  if (repair.buys) {
    const check = weighed
      .filter((w) => w.cost < repair.full && w.changes >= couldChange)
      .sort((a, b) => a.expected - b.expected)[0];
    if (check !== undefined) {
      const choice: Choice = { kind: "check", check, why: "before-buying" };
      return { ...common, choice, expected: check.expected, others: others(check) };
    }
  }
  const p = shareOf(repair, belief.shares);
  if (repair.buys && p < leastToBuy)
    return { ...common, choice: { kind: "give-up" }, expected: plan.cost, others: others() };
  return { ...common, choice: { kind: "repair", repair, p }, expected: plan.cost, others: others() };
}
