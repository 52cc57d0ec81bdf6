/** All that is known of a visit, weighed: what stands where, and what is worth doing. Pure; advice.ts puts it in words. */
import { starts } from "./complaint.ts";
import { gather, logOf, type Evidence, type Situation } from "./evidence.ts";
import { hold, steadiness, type Held, type Mended, type Steadiness } from "./hypotheses.ts";
import { actOf, buildModel, priorShares, seenQuestion, type Model } from "./model.ts";
import {
  decide,
  possibleChecks,
  usualPreferences,
  type Decision,
  type WeighBy,
  type Preferences,
  type Skipped,
} from "./next.ts";
import type { Possible } from "./weighed.ts";
import { proofOf, type Proof, type ProofGround } from "./proof.ts";
import type { Log } from "./results.ts";
import { awayNow, standing, type Away } from "./away.ts";
import { able, type State } from "./types.ts";

export interface Considered {
  readonly model: Model;
  readonly situation: Situation;
  readonly preferences: Preferences;
  readonly log: Log;
  readonly evidence: readonly Evidence[];
  readonly prior: Float64Array;
  readonly held: Held;
  readonly steady: Steadiness;
  readonly state: State;
  readonly possible: readonly Possible[];
  readonly skipped: readonly Skipped[];
  readonly decision: Decision;
  readonly by: WeighBy;
  /** How the fault stands after the last change, when it is away. */
  readonly away: Away | null;
  readonly proof: (place: number) => Proof;
}

let written: Model | null = null;

/** The tables as they are written, made ready once. */
export function tablesModel(): Model {
  written ??= buildModel();
  return written;
}

export interface ConsiderOptions {
  readonly preferences?: Partial<Preferences>;
  /** Other tables than the written ones. */
  readonly model?: Model;
  /** Without the shaken tables: faster, bands as wide as nothing. */
  readonly steady?: false;
}

/** Shares under other tables, each asked for by itself: a page works them out in pieces between frames. */
export function sharesUnder({ situation, evidence, log, model }: Considered, other: Model): Float64Array {
  const prior = priorShares(other, situation.complaints, situation.facts ?? {}, situation.own);
  return hold(other, prior, evidence, mendedBy(log, model)).shares;
}

export function consider(situation: Situation, options: ConsiderOptions = {}): Considered {
  const model = options.model ?? tablesModel();
  const preferences = { ...usualPreferences, ...options.preferences };
  const facts = situation.facts ?? {};
  const log = logOf(situation);
  const evidence = gather(model, situation, log);
  const mended = mendedBy(log, model);
  const again = (other: Model): Held =>
    hold(other, priorShares(other, situation.complaints, facts, situation.own), evidence, mended);
  const held = again(model);
  const steady =
    options.steady === false ? still(held.shares) : steadiness(model, (other) => again(other).shares);
  const state = stateOf(situation, evidence);
  const { possible, skipped, waiting } = possibleChecks(model, {
    complaints: situation.complaints,
    facts,
    log,
    state,
    preferences,
    answered: new Set(
      evidence.filter((e) => e.source === "marked").map((e) => e.question.id.slice("check:".length)),
    ),
  });
  const by: WeighBy = { model, preferences, tried: triedBy(log, model), waiting };
  const ground: ProofGround = { model, log, evidence, shares: held.shares };
  return {
    model,
    situation,
    preferences,
    log,
    evidence,
    prior: priorShares(model, situation.complaints, facts, situation.own),
    held,
    steady,
    state,
    possible,
    skipped,
    decision: decide(held.belief, possible, by),
    by,
    away: awayNow(log),
    proof: (place) => proofOf(place, ground),
  };
}

function still(shares: Float64Array): Steadiness {
  const top = shares.indexOf(shares.reduce((a, b) => Math.max(a, b), 0));
  return {
    bands: Array.from(shares, (s) => ({ low: s, high: s })),
    first: shares.map((_, h) => (h === top ? 1 : 0)),
  };
}

/** Repairs that were made, are still in place, and left the fault there. */
function triedBy(log: Log, model: Model): Set<string> {
  const out = new Set<string>();
  for (const act of standing(log)) {
    const row = model.causes[model.place.get(act.cause) ?? -1];
    if (row !== undefined && (act.effect === "stays" || act.did === "left")) out.add(actOf(row));
  }
  return out;
}

/** Causes that were mended while part of the trouble stayed, and not undone since. */
function mendedBy(log: Log, model: Model): Mended[] {
  const out: Mended[] = [];
  for (const act of standing(log)) {
    const place = model.place.get(act.cause);
    const at = Date.parse(act.at);
    if (place === undefined || act.did !== "changed" || act.effect !== "better") continue;
    const undone = standing(log).some(
      (a) => a.cause === act.cause && a.did === "reversed" && Date.parse(a.at) > at,
    );
    if (!undone) out.push({ place, at });
  }
  return out;
}

/** What the engine can do now, by the complaint and what was seen of its turning, the latest going first. */
export function stateOf(situation: Situation, evidence: readonly Evidence[]): State {
  if (situation.complaints.some((c) => able[c] === "runs")) return "runs";
  if (!situation.complaints.includes("no-start")) return "turns";
  const last = [...(situation.heard ?? [])]
    .sort((a, b) => Date.parse(a.started) - Date.parse(b.started))
    .at(-1);
  if (last !== undefined && starts(last.findings)) return "runs";
  // Nobody cranked it there, and it ran.
  const seen = evidence.findLast((e) => e.question.id === seenQuestion);
  if (last?.findings.cranks.length === 0 && seen?.question.outcomes[seen.outcome] === "ran") return "runs";
  let state: State = "turns";
  const told = evidence
    .filter((e) => e.source === "sign" || e.source === "check")
    .map((e, i) => ({ e, i }))
    .sort((a, b) => (a.e.at ?? 0) - (b.e.at ?? 0) || a.i - b.i);
  for (const { e } of told) {
    const said = e.question.outcomes[e.outcome];
    if (e.question.id === "sign:crank.nothing" && said === "outside") state = "key";
    if (e.question.id === "sign:crank.no-turn" && said === "outside") state = "draws";
    if (e.question.id === "sign:crank.speed") state = "turns";
    if (e.question.id === "check:listen-starter") {
      state = said === "silent" ? "key" : said === "click" || said === "free" ? "draws" : "turns";
    }
  }
  return state;
}
