/** Five ways to find a fault, each paid by the same prices on the same vehicle. */
import { advise } from "../../src/interpret/causes/advice.ts";
import { actOf, priorShares, type Model } from "../../src/interpret/causes/model.ts";
import {
  possibleChecks,
  repairsOf,
  timeCost,
  usualPreferences,
  type Repair,
} from "../../src/interpret/causes/next.ts";
import { foldLog, type LogEntry } from "../../src/interpret/causes/results.ts";
import { tablesModel, consider } from "../../src/interpret/causes/visit.ts";
import type { HandCheckRow } from "../../src/interpret/causes/types.ts";
import { handAnswer, unasked, type Hands } from "./shopHands.ts";
import type { Visit } from "./shopVisit.ts";

export interface Outcome {
  cost: number;
  minutes: number;
  checks: number;
  /** Parts bought that were not it. */
  vain: number;
  /** The fault was found and is gone. */
  solved: boolean;
  /** The solver ended on a cause that it was not. */
  wrong: boolean;
  proved: boolean;
  readonly steps: string[];
}

export interface Prices {
  readonly model: Model;
  readonly perHour: number;
}

type Solver = (visit: Visit, prices: Prices) => Outcome;

const middle = ([low, high]: readonly [number, number]): number => (low + high) / 2;
const begin = Date.UTC(2026, 4, 2, 9);
const mostSteps = 45;
/** A trial start or run after a repair, minutes. */
const trial = 2;

class Books {
  readonly outcome: Outcome = {
    cost: 0,
    minutes: 0,
    checks: 0,
    vain: 0,
    solved: false,
    wrong: false,
    proved: false,
    steps: [],
  };
  readonly #perHour: number;
  readonly #repairs: readonly Repair[];

  constructor(perHour: number) {
    this.#perHour = perHour;
    this.#repairs = repairsOf(tablesModel(), perHour);
  }

  pay(minutes: number, money: number): void {
    this.outcome.minutes += minutes;
    this.outcome.cost += money + timeCost(minutes, this.#perHour);
  }

  repairBy(act: string): Repair | undefined {
    return this.#repairs.find((r) => r.act === act);
  }

  /** Pays for a repair by the middle of its span; returns whether it was the right one. */
  repair(act: string, visit: Visit): boolean {
    const repair = this.repairBy(act);
    const rows = (repair?.causes ?? []).flatMap((i) => tablesModel().causes[i] ?? []);
    const right = rows.some((r) => (visit.truth as readonly string[]).includes(r.id));
    const row = rows.find((r) => visit.truth[0] === r.id) ?? rows[0];
    if (row === undefined) return false;
    const minutes = middle(row.repair.minutes) + trial;
    this.pay(minutes, right ? middle(row.repair.money) : row.badGuess.money);
    if (!right && row.repair.part !== null) this.outcome.vain += 1;
    this.outcome.steps.push(`${act}${right ? " mends it" : " in vain"}`);
    return right;
  }

  /** Handed to someone else, who finds and mends it for the usual price on top. */
  giveUp(visit: Visit): Outcome {
    this.outcome.steps.push("given up");
    this.pay(0, usualPreferences.giveUp);
    const truth = tablesModel().causes.find((c) => c.id === visit.truth[0]);
    if (truth !== undefined) this.pay(middle(truth.repair.minutes), middle(truth.repair.money));
    return this.outcome;
  }
}

/** Whether the trouble is gone after a repair that was not it: an intermittent fault may seem so for a while. */
function seemsGone(hands: Hands): boolean {
  const d = hands.shop.damage;
  const comesAndGoes = d.crankDropout > 0 || d.relayDropout > 0 || d.moduleDropout > 0;
  if (!comesAndGoes) return false;
  return hands.runs ? hands.random() < 0.2 : hands.shop.startsWell({}, 2);
}

const entryTime = (books: Books): string =>
  new Date(begin + (books.outcome.minutes + 1) * 60_000).toISOString();

/** Follows the advice, as a person would who believes it. */
function byTheTool(visit: Visit, { model, perHour }: Prices): Outcome {
  const hands = visit.hands(1);
  const books = new Books(perHour);
  const { outcome } = books;
  const log: LogEntry[] = [];
  const situation = { complaints: visit.complaints, facts: hands.shop.facts, heard: visit.heard };
  for (let step = 0; step < mostSteps; step++) {
    const advice = advise(
      { ...situation, log },
      { preferences: { perHour, declined: unasked }, model, steady: false },
    );
    const { next } = advice;
    if (next.kind === "check") {
      const said = handAnswer(next.check.id, hands);
      books.pay(next.check.minutes, next.check.money);
      outcome.checks += 1;
      outcome.steps.push(`${next.check.id}: ${said}`);
      log.push({ k: "result", id: `r${step}`, at: entryTime(books), check: next.check.id, outcome: said });
      continue;
    }
    if (next.kind === "repair") {
      const row = model.causes[model.place.get(next.cause) ?? -1];
      const right = row !== undefined && books.repair(actOf(row), visit);
      const gone = right || seemsGone(hands);
      log.push({
        k: "act",
        id: `a${step}`,
        at: entryTime(books),
        cause: next.cause,
        did: "changed",
        effect: gone ? "gone" : "stays",
      });
      continue;
    }
    if (next.kind === "give-up" || next.kind === "ask") return books.giveUp(visit);
    if (next.kind === "done") return concluded(outcome, next.cause, visit, true);
    // "prove": undo the change where that is quick, see it come back, and change it again.
    const changed = log.some((e) => e.k === "act" && e.cause === next.cause && e.effect === "gone");
    const undone = log.some((e) => e.k === "act" && e.did === "reversed");
    const row = model.causes[model.place.get(next.cause) ?? -1];
    if (row === undefined || !changed || undone) return concluded(outcome, next.cause, visit, false);
    const right = books.outcome.steps.at(-1)?.endsWith("mends it") === true;
    const minutes = Math.min(60, 2 * row.repair.minutes[0]);
    books.pay(minutes + trial, 0);
    outcome.steps.push(`undone: ${right ? "back" : "still gone"}`);
    log.push({
      k: "act",
      id: `u${step}`,
      at: entryTime(books),
      cause: next.cause,
      did: "reversed",
      effect: right || !seemsGone(hands) ? "back" : "still-gone",
    });
    if (right) return concluded(outcome, next.cause, visit, true);
  }
  return books.giveUp(visit);
}

function concluded(outcome: Outcome, cause: string, visit: Visit, proved: boolean): Outcome {
  const { causes, place } = tablesModel();
  const row = causes[place.get(cause) ?? -1];
  const truths = visit.truth.flatMap((id) => causes[place.get(id) ?? -1] ?? []);
  const right = row !== undefined && truths.some((t) => actOf(t) === actOf(row));
  outcome.solved = right && outcome.steps.some((s) => s.endsWith("mends it"));
  outcome.wrong = !right;
  outcome.proved = proved && right;
  return outcome;
}

/** Parts one after the other until the fault is gone, in the order of a score. Stops when it seems gone. */
function replacing(visit: Visit, prices: Prices, score: (r: Repair, p: number) => number): Outcome {
  const hands = visit.hands(2);
  const books = new Books(prices.perHour);
  const shares = priorShares(prices.model, visit.complaints, hands.shop.facts);
  const order = repairsOf(prices.model, prices.perHour)
    .map((r) => ({ r, p: r.causes.reduce((sum, i) => sum + (shares[i] ?? 0), 0) }))
    .filter(({ p }) => p > 0)
    .sort((a, b) => score(b.r, b.p) - score(a.r, a.p));
  for (const { r } of order) {
    if (books.repair(r.act, visit)) {
      books.outcome.solved = true;
      return books.outcome;
    }
    if (seemsGone(hands)) {
      books.outcome.wrong = true;
      return books.outcome;
    }
  }
  return books.giveUp(visit);
}

/**
 * The fixed list, in the usual order of common practice: fuel in the tank, battery, starter, codes, spark, pulse,
 * pressure, air, then the engine itself; a running engine by cylinder first.
 */
const usualOrder: readonly string[] = [
  "fuel-level",
  "rest-voltage",
  "load-test",
  "listen-starter",
  "drop-cranking",
  "security-lamp",
  "scan-again",
  "unplug-cylinder",
  "spark-test",
  "swap-coil",
  "swap-plug",
  "injector-pulse",
  "fuel-pressure",
  "fuel-pressure-load",
  "bleed-down",
  "fuel-glass",
  "relay-swap",
  "relay-volts",
  "crank-sensor",
  "cam-sensor",
  "plugs-look",
  "smoke",
  "purge-clamp",
  "oxygen-propane",
  "infrared",
  "pedal-down",
  "compression",
  "timing-marks",
  "back-pressure",
  "injector-balance",
  "pulse-spray",
  "module-feed",
];
/** One is sure enough to replace what stands at this share. */
const sureEnough = 0.8;

function byTheList(visit: Visit, { model, perHour }: Prices): Outcome {
  const hands = visit.hands(3);
  const books = new Books(perHour);
  const log: LogEntry[] = [];
  const situation = { complaints: visit.complaints, facts: hands.shop.facts, heard: visit.heard };
  const todo = [...usualOrder];
  for (let step = 0; step < 80; step++) {
    const seen = consider(
      { ...situation, log },
      { preferences: { perHour, declined: unasked }, model, steady: false },
    );
    const shares = seen.held.belief.shares;
    const ranked = repairsOf(model, perHour)
      .map((r) => ({ r, p: r.causes.reduce((sum, i) => sum + (shares[i] ?? 0), 0) }))
      .sort((a, b) => b.p - a.p);
    const best = ranked[0];
    const check = nextOnList(todo, seen, log);
    if (best !== undefined && (best.p >= sureEnough || check === undefined)) {
      if (best.p < 0.05) return books.giveUp(visit);
      if (books.repair(best.r.act, visit)) {
        books.outcome.solved = true;
        return books.outcome;
      }
      if (seemsGone(hands)) {
        books.outcome.wrong = true;
        return books.outcome;
      }
      const cause = model.causes[best.r.causes[0] ?? -1]?.id ?? "";
      log.push({ k: "act", id: `a${step}`, at: entryTime(books), cause, did: "changed", effect: "stays" });
      continue;
    }
    if (check === undefined) return books.giveUp(visit);
    books.pay(check.minutes, check.money);
    books.outcome.checks += 1;
    log.push({
      k: "result",
      id: `r${step}`,
      at: entryTime(books),
      check: check.id,
      outcome: handAnswer(check.id, hands),
    });
  }
  return books.giveUp(visit);
}

function nextOnList(
  todo: string[],
  seen: ReturnType<typeof consider>,
  log: readonly LogEntry[],
): HandCheckRow | undefined {
  const { possible } = possibleChecks(seen.model, {
    complaints: seen.situation.complaints,
    facts: seen.situation.facts ?? {},
    log: foldLog(log),
    state: seen.state,
    preferences: seen.preferences,
    answered: new Set(),
  });
  const at = todo.findIndex((id) => possible.some((p) => p.check.id === id));
  const id = at < 0 ? undefined : todo.splice(at, 1)[0];
  const one = possible.find((p) => p.check.id === id);
  return one === undefined ? undefined : { ...one.check, minutes: one.minutes };
}

function knowing(visit: Visit, { perHour }: Prices): Outcome {
  const books = new Books(perHour);
  const row = tablesModel().causes.find((c) => c.id === visit.truth[0]);
  if (row === undefined) throw new Error(`nothing mends ${visit.fault}`);
  books.outcome.solved = books.repair(actOf(row), visit);
  return books.outcome;
}

export const solvers = {
  tool: byTheTool,
  "by-chance": (visit, prices) => replacing(visit, prices, (_r, p) => p),
  cheapest: (visit, prices) => replacing(visit, prices, (r) => -r.guess),
  list: byTheList,
  knows: knowing,
} as const satisfies Record<string, Solver>;

export type SolverName = keyof typeof solvers;
