/**
 * When a cause is proved. Suspected: things speak for it. Shown: the fault went away when this was changed. Proved:
 * it came back when the change was undone, or a second, independent check agrees. A change that is undone in minutes is
 * undone before it is believed.
 */
import type { Evidence } from "./evidence.ts";
import { actOf, likelihood, type Model } from "./model.ts";
import type { Act, Log, Result } from "./results.ts";
import { checkActs } from "./tables/acts.ts";
import type { CauseRow } from "./types.ts";

export type ProofState = "cleared" | "suspected" | "shown" | "proved";

export interface Proof {
  readonly state: ProofState;
  readonly words: string;
  /** What would prove it; empty when it is proved or cleared. */
  readonly wouldProve: string;
  /** A change that was undone and left the fault away: something that was moved meanwhile is not excluded. */
  readonly notExcluded: boolean;
  /** Entries that it rests on, oldest first. */
  readonly rests: readonly string[];
}

/** One thing done to the vehicle for the sake of a cause. */
export interface Step {
  readonly of: string;
  readonly at: number;
  readonly did: Act["did"];
  readonly effect: "gone" | "better" | "stays" | "back" | "still-gone";
  readonly together: number;
  /** The check that undoes it in a few minutes, where there is one. */
  readonly undo: string | null;
  readonly words: string;
}

/** A check agrees when its outcome is so many times likelier with this cause than without any (estimate). */
const agrees = 8;

/** Everything that was done for one cause, oldest first: acts of its own, and checks that change something. */
export function stepsFor(cause: CauseRow, ground: ProofGround): Step[] {
  const { model, log } = ground;
  const act = actOf(cause);
  const out: Step[] = [];
  for (const one of log.acts) {
    const at = model.place.get(one.cause);
    const row = at === undefined ? undefined : model.causes[at];
    if (one.withdrawn || row === undefined || actOf(row) !== act || one.effect === "unclear") continue;
    if (!fitting[one.did].includes(one.effect)) continue;
    out.push({
      of: one.id,
      at: Date.parse(one.at),
      did: one.did,
      effect: one.effect,
      together: one.together ?? 0,
      undo: null,
      words: cause.repair.does,
    });
  }
  for (const result of log.results) {
    const row = actRow(result, cause.id);
    const check = model.checks.get(result.check);
    if (row === undefined || check === undefined) continue;
    const { did, effect, undo = null } = row;
    if (effect === "gone" && !pointsHere(cause, row.causes, ground)) continue;
    const at = Date.parse(result.at);
    out.push({ of: result.id, at, did, effect, together: 0, undo, words: check.name });
  }
  return out.sort((a, b) => a.at - b.at);
}

/** Of several causes that such a change would lift, how much of the share must lie here. An estimate. */
const mostOfIt = 0.6;

/** A change that lifts several different faults shows only the one that is left of them. */
function pointsHere(cause: CauseRow, lifted: readonly string[], { model, shares }: ProofGround): boolean {
  let here = 0;
  let all = 0;
  for (const id of lifted) {
    const at = model.place.get(id);
    const row = at === undefined ? undefined : model.causes[at];
    if (at === undefined || row === undefined) continue;
    all += shares[at] ?? 0;
    if (actOf(row) === actOf(cause)) here += shares[at] ?? 0;
  }
  return all > 0 && here >= mostOfIt * all;
}

const fitting: Readonly<Record<Act["did"], readonly Act["effect"][]>> = {
  changed: ["gone", "better", "stays"],
  reversed: ["back", "still-gone"],
  left: ["back"],
};

function actRow(result: Result, cause: string): (typeof checkActs)[number] | undefined {
  if (result.state !== "used") return undefined;
  return checkActs.find(
    (a) =>
      a.check === result.check &&
      a.outcome === result.outcome &&
      (a.causes as readonly string[]).includes(cause),
  );
}

/** Independent looks at this cause that agree, strongest first. Signs of one story and acts do not count twice. */
function agreeing(at: number, evidence: readonly Evidence[], changing: ReadonlySet<string>): Evidence[] {
  const byGroup = new Map<string, { one: Evidence; factor: number }>();
  for (const one of evidence) {
    if (one.source === "act" || changing.has(one.of)) continue;
    if (one.question.rowOf[at] === 0) continue;
    const rest = one.question.rows[0]?.[one.outcome] ?? 1;
    const factor = likelihood(one.question, one.outcome, at) / Math.max(rest, 1e-9);
    if (factor < agrees) continue;
    const before = byGroup.get(one.question.group);
    if (before === undefined || factor > before.factor) byGroup.set(one.question.group, { one, factor });
  }
  return [...byGroup.values()].sort((a, b) => b.factor - a.factor).map((e) => e.one);
}

/** Whether an answer tells this cause from the other causes that are still likely, and not only from health. */
function tellsApart(one: Evidence, at: number, { shares, model }: ProofGround): boolean {
  const own = likelihood(one.question, one.outcome, at);
  let others = 0;
  let weight = 0;
  const act = model.causes[at] === undefined ? "" : actOf(model.causes[at]);
  model.causes.forEach((row, h) => {
    const share = shares[h] ?? 0;
    if (actOf(row) === act || share < 0.02) return;
    weight += share;
    others += share * likelihood(one.question, one.outcome, h);
  });
  return weight === 0 || own > 2 * (others / weight);
}

export interface ProofGround {
  readonly model: Model;
  readonly log: Log;
  readonly evidence: readonly Evidence[];
  /** Shares of the causes as they stand. */
  readonly shares: Float64Array;
}

/** How far a cause is proved, in words, and what would prove it. */
export function proofOf(at: number, ground: ProofGround): Proof {
  const cause = ground.model.causes[at];
  if (cause === undefined) throw new RangeError(`no cause at ${at}`);
  const steps = stepsFor(cause, ground);
  const changing = new Set(steps.map((s) => s.of));
  const looks = agreeing(at, ground.evidence, changing).filter((one) => tellsApart(one, at, ground));
  return fromSteps(cause, steps, looks);
}

function fromSteps(cause: CauseRow, steps: readonly Step[], looks: readonly Evidence[]): Proof {
  const rests = [...steps.map((s) => s.of), ...looks.map((l) => l.of)];
  // A change that was undone and made again is one change: the first of the run counts.
  const lastReversal = steps.findLast((s) => s.did === "reversed");
  const cut = lastReversal === undefined ? steps.length : steps.indexOf(lastReversal);
  const helped = (s: Step): boolean => s.effect === "gone" || s.effect === "better";
  const gone = steps.slice(0, cut).findLast(helped) ?? steps.findLast(helped);
  const after = gone === undefined ? [] : steps.slice(steps.indexOf(gone) + 1);
  const undone = after.find((s) => s.did === "reversed");
  const stays = steps.findLast((s) => s.effect === "stays");
  const look = looks[0];
  const base = { rests, notExcluded: false };
  const returned = after.find((s) => s.did === "left");
  if (returned !== undefined) {
    return {
      ...base,
      state: "suspected",
      words: "The fault came back with the change in place: it was not this, or not this alone.",
      wouldProve: "",
    };
  }
  if (gone === undefined || (stays !== undefined && stays.at > gone.at)) {
    if (stays !== undefined) {
      return {
        ...base,
        state: "cleared",
        words: `The fault stayed when this was changed (${stays.words}).`,
        wouldProve: "",
      };
    }
    return { ...base, state: "suspected", words: suspected(looks), wouldProve: cause.proof };
  }
  if (undone?.effect === "back") {
    const again = after.some((s) => s.did === "changed" && s.effect !== "stays" && s.at > undone.at);
    const words = again
      ? "The fault went away with the change, came back when it was undone, and went away again."
      : "The fault went away with the change and came back when it was undone.";
    return { ...base, state: "proved", words, wouldProve: "" };
  }
  if (undone?.effect === "still-gone") {
    return {
      ...base,
      state: "shown",
      notExcluded: true,
      words:
        "Changed, it worked; changed back, it still worked. Shown at most: an intermittent contact that was moved meanwhile is not excluded.",
      wouldProve:
        "Provoke it with a recording running: heat, cold, damp, load, a wiggle at this place, a mark on each; it must come back here and nowhere else.",
    };
  }
  if (gone.together > 0) {
    return {
      ...base,
      state: "shown",
      notExcluded: true,
      words: `The fault went away, but ${gone.together + 1} things were changed at once: it is open which one did it.`,
      wouldProve: "Undo them one at a time, a trial after each.",
    };
  }
  if (gone.undo !== null) {
    const agreed = look === undefined ? "" : ` A check agrees: ${look.words}.`;
    return {
      ...base,
      state: "shown",
      words: `The fault went away with the change.${agreed}`,
      wouldProve: "Change it back: the fault must come back with it. Then change it again.",
    };
  }
  if (look !== undefined) {
    return {
      ...base,
      state: "proved",
      words: `The fault went away with the change, and an independent check agrees: ${look.words}.`,
      wouldProve: "",
    };
  }
  return {
    ...base,
    state: "shown",
    words: "The fault went away when this was changed; nothing independent has confirmed it.",
    wouldProve: cause.proof,
  };
}

function suspected(looks: readonly Evidence[]): string {
  const [first, second] = looks;
  if (first === undefined) return "Nothing was measured at this place yet.";
  const both = second === undefined ? first.words : `${first.words}; ${second.words}`;
  return `Seen: ${both}. Nothing was changed yet.`;
}
