/** The likely causes and the next thing to do, in words, as JSON that a page, a note or a terminal can show. */
import {
  adviceVersion,
  type Advice,
  type CauseAdvice,
  type CheckAdvice,
  type EvidenceWords,
  type Next,
  type Standing,
} from "./adviceSchema.ts";
import type { Situation } from "./evidence.ts";
import {
  afterwards,
  causeOf,
  likeliest,
  nameAt,
  needsBoth,
  separates,
  speaks,
  type Speaking,
} from "./explain.ts";
import { askWords } from "./ask.ts";
import { captureWorths } from "./captureWorth.ts";
import { ownWords } from "./own.ts";
import { shaking } from "./hypotheses.ts";
import { enterable } from "./judge.ts";
import { weighOne, type Skipped } from "./next.ts";
import type { Possible, Weighed } from "./weighed.ts";
import { isFirm, modesOf, modesText, onePart, partName, rounded, standingOfAct, wordOf } from "./parts.ts";
import { checkActs } from "./tables/acts.ts";
import { cautionFirst, cautions, type CautionId } from "./tables/cautions.ts";
import { tools, type ToolId } from "./tables/tools.ts";
import { stateWords, type CauseRow, type HandCheckRow, type ReadingRow, type Span } from "./types.ts";
import { consider, type Considered, type ConsiderOptions } from "./visit.ts";

export interface AdviceOptions extends ConsiderOptions {
  /** The person's own order of causes and own next check, in place of the tables'. */
  readonly own?: { readonly order?: readonly string[]; readonly next?: string };
}

const listed = 6;
const leastListed = 0.03;

/** What to believe and what to do next. Deterministic: the same situation gives the same advice. */
export function advise(situation: Situation, options: AdviceOptions = {}): Advice {
  return adviceOf(consider(situation, options), options.own ?? {});
}

export function adviceOf(considered: Considered, own: NonNullable<AdviceOptions["own"]> = {}): Advice {
  const { model, decision, preferences, situation } = considered;
  const overridden: string[] = [];
  const places = inOrder(considered, own.order ?? [], overridden);
  const none = model.causes.length;
  const next = nextOf(considered, own.next, overridden);
  return {
    version: adviceVersion,
    complaints: [...situation.complaints],
    causes: places.map((h) => causeAdvice(h, considered)),
    none: standingOf(none, considered),
    unlisted: [...considered.prior].filter((p, h) => h < none && p > 0 && !places.includes(h)).length,
    together: togetherOf(considered),
    steady: steadyOf(considered),
    next,
    others: (next.kind === "prove" || next.kind === "done" ? [] : decision.others)
      .filter((w) => next.kind !== "check" || w.check.id !== next.check.id)
      .map(brief),
    skipped: considered.skipped.flatMap((s) => skippedOf(s, considered)),
    ...(situation.complaints.length === 0 ? {} : { captures: captureWorths(considered) }),
    cylinders: cylindersOf(situation),
    questions: considered.log.results.flatMap((r) =>
      r.question === undefined ? [] : [{ of: r.id, words: r.question }],
    ),
    overridden,
    ...ownBasis(considered),
    cautionFirst,
    basis: {
      perHour: preferences.perHour,
      giveUp: preferences.giveUp,
      without: Math.round(decision.without),
      expected: Math.round(decision.expected),
      draws: shaking.draws,
      shaken: shaking.most,
      seed: shaking.seed,
    },
  };
}

function inOrder(considered: Considered, own: readonly string[], overridden: string[]): number[] {
  const { held, model, log } = considered;
  const shares = held.shares;
  const touched = new Set(log.acts.filter((a) => !a.withdrawn).map((a) => a.cause));
  const places = model.causes
    .map((_, h) => h)
    .sort((a, b) => (shares[b] ?? 0) - (shares[a] ?? 0))
    .filter((h, rank) => {
      const kept = touched.has(model.causes[h]?.id ?? "");
      return kept || ((shares[h] ?? 0) >= leastListed && rank < listed) || (rank < 2 && (shares[h] ?? 0) > 0);
    });
  const first = own.flatMap((id) => model.place.get(id) ?? []);
  if (first.length === 0) return onePart(places, considered);
  const mine = [...first, ...places.filter((h) => !first.includes(h))];
  if (mine.some((h, i) => places[i] !== h)) {
    overridden.push(
      `Put first by hand: ${first.map((h) => nameAt(model, h)).join(", ")}. The tables would put ${nameAt(model, places[0] ?? -1)} first.`,
    );
  }
  return mine;
}

function standingOf(place: number, { held, steady }: Considered): Standing {
  const share = held.shares[place] ?? 0;
  const band = steady.bands[place] ?? { low: share, high: share };
  return {
    share: rounded(share),
    low: rounded(Math.min(band.low, share)),
    high: rounded(Math.max(band.high, share)),
    word: wordOf(share),
  };
}

const evidenceWords = ({ one }: Speaking): EvidenceWords => ({
  source: one.source,
  of: one.of,
  words: one.words,
});

function causeAdvice(place: number, considered: Considered): CauseAdvice {
  const row = considered.model.causes[place];
  if (row === undefined) throw new RangeError(`no cause at ${place}`);
  const said = speaks(place, considered);
  const proof = considered.proof(place);
  const modes = isFirm(proof) ? modesOf(place, considered) : [];
  const part = modes.length > 1 ? partName(row) : row.name;
  return {
    id: row.id,
    name: part,
    about: row.about,
    place: row.place,
    ...(modes.length > 1 ? { modes } : {}),
    standing: modes.length > 1 ? standingOfAct(place, considered) : standingOf(place, considered),
    for: said.for.slice(0, 4).map(evidenceWords),
    against: said.against.slice(0, 3).map(evidenceWords),
    repair: repairWords(row),
    ...ownOf(row.id, considered),
    proof: {
      ...proof,
      words: modes.length > 1 ? `${proof.words} ${modesText(modes)}` : proof.words,
      rests: [...proof.rests],
    },
  };
}

const pair = (span: Span): [number, number] => [span[0], span[1]];

function ownOf(cause: string, { situation, model }: Considered): { own?: string } {
  const { own, complaints, heard = [] } = situation;
  if (own === undefined) return {};
  const outside = heard.flatMap((h) => h.findings.signs.filter((s) => s.verdict === "outside"));
  const now = { complaints, signs: new Map(outside.map((s) => [s.id, s.title])) };
  const nameOf = (id: string): string => model.causes[model.place.get(id) ?? -1]?.name ?? id;
  const words = ownWords(cause, now, own, nameOf);
  return words === null ? {} : { own: words };
}

/** How much own cases had to say in the order. */
function ownBasis({ situation }: Considered): Pick<Advice, "own"> {
  const { own, complaints } = situation;
  const cases = (own?.cases ?? []).filter((c) => complaints.some((one) => c.complaints.includes(one))).length;
  if (own === undefined || cases === 0) return {};
  const { worth } = own;
  const words = `${cases} own proved ${cases === 1 ? "case counts" : "cases count"} in the order, beside tables of the weight of ${worth}.`;
  return { own: { cases, worth, words } };
}

function repairWords(row: CauseRow): CauseAdvice["repair"] {
  const { does, part, money, minutes } = row.repair;
  return { does, part, money: pair(money), minutes: pair(minutes), badGuess: row.badGuess.words };
}

function togetherOf(considered: Considered): Advice["together"] {
  const best = considered.held.pairs[0];
  if (best === undefined) return null;
  const singles = considered.held.belief.shares;
  const pairs = considered.held.pairs.reduce((sum, p) => sum + p.share, 0);
  const alone = Math.max(singles[best.a] ?? 0, singles[best.b] ?? 0) * (1 - pairs);
  const both = needsBoth(best, considered);
  const a = considered.model.causes[best.a];
  const b = considered.model.causes[best.b];
  if (best.share <= alone || both === null || a === undefined || b === undefined) return null;
  return {
    causes: [a.id, b.id],
    words: `Two faults at once fit better than one: ${a.name} for "${both.a.words}", ${b.name} for "${both.b.words}". Mend one, then look again.`,
  };
}

/** First in at least so many of the shaken tables: steady. An estimate. */
const steadyShare = 0.8;

function steadyOf(considered: Considered): Advice["steady"] {
  const { steady, held, model } = considered;
  const now = likeliest(held.shares);
  const kept = steady.first[now.place] ?? 0;
  if (kept >= steadyShare) {
    return { first: true, words: "The first place holds even if our estimates are off by two." };
  }
  const rival = likeliest(steady.first.map((s, h) => (h === now.place ? 0 : s)));
  return {
    first: false,
    words: `The first place is not stable: other estimates would put ${nameAt(model, rival.place).toLowerCase()} first.`,
  };
}

const brief = ({ check, minutes }: Possible): Advice["others"][number] => ({
  id: check.id,
  name: check.name,
  minutes,
  money: check.money,
});

function skippedOf(one: Skipped, considered: Considered): Advice["skipped"] {
  const { check, why, needs } = one;
  const words = ((): string | null => {
    switch (why) {
      case "done":
        return null;
      case "declined":
        return "not wanted";
      case "tool":
        return `needs ${needs.map((t) => tools[t as ToolId]).join(", ")}`;
      case "first":
        return `after ${needs.map((c) => considered.model.checks.get(c)?.name ?? c).join(", ")}`;
      case "state":
        return stateWords[check.state];
    }
  })();
  return words === null ? [] : [{ id: check.id, name: check.name, why: words }];
}

function cylindersOf(situation: Situation): number[] {
  const found = (situation.heard ?? []).flatMap((h) =>
    h.findings.signs.flatMap((s) =>
      s.verdict === "outside" && s.cylinder !== undefined ? [s.cylinder] : [],
    ),
  );
  return [...new Set(found)].sort((a, b) => a - b);
}

function nextOf(considered: Considered, own: string | undefined, overridden: string[]): Next {
  const { decision, held, model } = considered;
  const chosen = own === undefined ? undefined : considered.possible.find((p) => p.check.id === own);
  if (chosen !== undefined) {
    overridden.push(`Check chosen by hand: ${chosen.check.name}.`);
    const weighed = weighOne(held.belief, chosen, considered.by);
    return checkNext(weighed, considered, "Chosen by hand.");
  }
  const proving = provingNext(considered);
  if (proving !== null) return proving;
  if (considered.situation.complaints.length === 0) return { kind: "ask", why: askWords(considered) };
  const { choice } = decision;
  switch (choice.kind) {
    case "check": {
      const saved = Math.round(decision.without - choice.check.expected);
      const why = {
        saves: `Saves about ${saved} on average.`,
        opens: "Little by itself, but a check that pays needs it first.",
        "before-buying": "Cheaper than the part that would be bought, and it could still change the answer.",
        "before-work": "Quicker than the work, and it tells whether the work would help.",
        "adds-up":
          "By itself it leaves the same cause first; with the check after it, another may come first.",
      }[choice.why];
      return checkNext(choice.check, considered, why);
    }
    case "repair": {
      const place = causeOf(choice.repair, considered);
      const row = model.causes[place];
      if (row === undefined) return { kind: "give-up", why: "Nothing in the tables fits." };
      return {
        kind: "repair",
        cause: row.id,
        repair: repairWords(row),
        why: `${wordOf(choice.p)}; no cheaper check at hand would change that.`,
        costs: `${span(row.repair.money)} in money, ${span(row.repair.minutes)} minutes; a wrong guess costs: ${row.badGuess.words}`,
      };
    }
    case "give-up":
      return {
        kind: "give-up",
        why: "No cause is sure enough to buy a part for, and no check at hand tells more. Hand it over with what was found, or find the tools for a skipped check.",
      };
  }
}

/** While the fault is away there is nothing to measure: undo the change, or say what would bring it back. */
function provingNext(considered: Considered): Next | null {
  const { away, model, held } = considered;
  if (away === null) return null;
  const undo = considered.possible.find((p) => p.check.id === away.undo);
  if (undo !== undefined) {
    const weighed = weighOne(held.belief, undo, considered.by);
    return checkNext(
      weighed,
      considered,
      "Change it back before you trust it: if the fault follows the part, the part is bad.",
    );
  }
  const id = away.cause ?? likeliestChanged(considered, away.check);
  const place = id === null ? undefined : model.place.get(id);
  if (id === null || place === undefined) return null;
  const proof = considered.proof(place);
  const row = model.causes[place];
  const several = isFirm(proof) && modesOf(place, considered).length > 1;
  const name = several && row !== undefined ? partName(row) : nameAt(model, place);
  if (proof.state === "proved") {
    return { kind: "done", cause: id, why: `${name}: proved. ${proof.words} Record before and after.` };
  }
  return { kind: "prove", cause: id, why: `${name}: ${proof.words} ${proof.wouldProve}`.trim() };
}

/** Of the causes that a check's change lifts, the likeliest. */
function likeliestChanged({ model, held }: Considered, check: string | null): string | null {
  const ids: readonly string[] = checkActs.find((a) => a.check === check)?.causes ?? [];
  const share = (id: string): number => held.shares[model.place.get(id) ?? -1] ?? 0;
  return [...ids].sort((a, b) => share(b) - share(a))[0] ?? null;
}

const span = ([low, high]: Span): string => (low === high ? `${low}` : `${low} to ${high}`);

function checkNext(weighed: Weighed, considered: Considered, why: string): Next {
  const { minutes, check } = weighed;
  const money = check.money === 0 ? "no money" : `${check.money} in money`;
  return {
    kind: "check",
    check: checkAdvice(weighed, considered),
    why,
    separates: separates(weighed, considered),
    costs: `${minutes} ${minutes === 1 ? "minute" : "minutes"}, ${money}`,
  };
}

function checkAdvice(weighed: Weighed, considered: Considered): CheckAdvice {
  const { check } = weighed;
  return {
    ...plainCheck(check),
    minutes: weighed.minutes,
    outcomes: check.outcomes.map((o, k) => {
      const p = weighed.outcomes[k]?.p ?? 0;
      return {
        id: o.id,
        text: o.text,
        means: o.means,
        expect: p >= 0.5 ? "likely" : p >= 0.1 ? "may be" : "unlikely",
        then: afterwards(weighed, k, considered),
      };
    }),
  };
}

type PlainCheck = Omit<CheckAdvice, "outcomes">;

/** A hand check as it is shown, without what it would do to the order: for a person who picks it from the list. */
export function plainCheck(check: HandCheckRow): PlainCheck {
  const { id, name, steps, minutes, money, reading, source } = check;
  return {
    id,
    name,
    steps: [...steps],
    tools: check.tools.map((t) => tools[t as ToolId]),
    minutes,
    money,
    cautions:
      check.caution === "none needed" ? [] : check.caution.map((c) => ({ ...cautions[c as CautionId] })),
    reading: reading === undefined ? null : plainReading(reading),
    source,
  };
}

function plainReading({ what, unit, source, beside }: ReadingRow): NonNullable<PlainCheck["reading"]> {
  const pair =
    beside === undefined
      ? {}
      : { beside: { shown: beside.shown, what: beside.what, channels: [...beside.channels] } };
  return { what, units: enterable(unit), source, ...pair };
}
