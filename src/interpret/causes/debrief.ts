/**
 * After practising: what was spent on the way against the one who knows, which check told most, and what was bought in vain. By
 * the same costs as the next check is chosen by. Pure.
 */
import type { Situation } from "./evidence.ts";
import { repairCost, timeCost, usualPreferences, type Preferences } from "./next.ts";
import { logOf } from "./evidence.ts";
import { actOf } from "./model.ts";
import { consider, tablesModel } from "./visit.ts";

export interface Step {
  readonly id: string;
  readonly name: string;
  /** Share of what was broken, by all that was known before and after. */
  readonly before: number;
  readonly after: number;
  /** Money, an hour's worth taken in. */
  readonly cost: number;
}

export interface Debrief {
  /** A change that mends it was made, and the fault went. */
  readonly found: boolean;
  /** Money, an hour's worth taken in: all checks, and all changes. */
  readonly spent: number;
  /** What the one who knows would have spent: the right repair at once. */
  readonly knows: number;
  readonly minutes: number;
  readonly checks: readonly Step[];
  /** The check after which the share of what was broken had risen most; null where none raised it. */
  readonly best: Step | null;
  /** Changes that could not mend it. */
  readonly inVain: readonly { readonly name: string; readonly cost: number }[];
}

/** `truth`: the causes whose repair mends what was broken. */
export function debrief(
  situation: Situation,
  truth: readonly string[],
  preferences: Partial<Preferences> = {},
): Debrief {
  const model = tablesModel();
  const { perHour } = { ...usualPreferences, ...preferences };
  const right = truth.flatMap((id) => model.causes[model.place.get(id) ?? -1] ?? []);
  const rightActs = new Set(right.map(actOf));
  const log = logOf(situation);
  const entries = situation.log ?? [];
  const share = (upTo: number): number => {
    const { held } = consider({ ...situation, log: entries.slice(0, upTo) }, { steady: false });
    return right.reduce((sum, row) => sum + (held.shares[model.place.get(row.id) ?? -1] ?? 0), 0);
  };
  const checks = log.results
    .filter((r) => r.state !== "withdrawn")
    .map((result): Step => {
      const row = model.checks.get(result.check);
      const at = entries.findIndex((e) => e.id === result.id);
      const cost = (row?.money ?? 0) + timeCost(row?.minutes ?? 0, perHour);
      return {
        id: result.check,
        name: row?.name ?? result.check,
        before: share(at),
        after: share(at + 1),
        cost,
      };
    });
  const acts = log.acts.filter((a) => !a.withdrawn && a.did === "changed");
  const changed = acts.flatMap((act) => {
    const row = model.causes[model.place.get(act.cause) ?? -1];
    if (row === undefined) return [];
    const { full, guess } = repairCost(row, perHour);
    const mends = rightActs.has(actOf(row));
    const minutes = (row.repair.minutes[0] + row.repair.minutes[1]) / 2;
    return [{ name: row.name, mends, gone: act.effect === "gone", minutes, cost: mends ? full : guess }];
  });
  const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);
  const minutes = log.results.map((r) =>
    r.state === "withdrawn" ? 0 : (model.checks.get(r.check)?.minutes ?? 0),
  );
  const raised = [...checks].sort((a, b) => b.after - b.before - (a.after - a.before));
  return {
    found: changed.some((c) => c.mends && c.gone),
    spent: Math.round(sum([...checks.map((c) => c.cost), ...changed.map((c) => c.cost)])),
    knows: Math.round(
      Math.min(...right.map((row) => repairCost(row, perHour).full), Number.POSITIVE_INFINITY),
    ),
    minutes: Math.round(sum([...minutes, ...changed.map((c) => c.minutes)])),
    checks,
    best: raised[0] !== undefined && raised[0].after > raised[0].before ? raised[0] : null,
    inVain: changed.filter((c) => !c.mends).map(({ name, cost }) => ({ name, cost: Math.round(cost) })),
  };
}

const percent = (share: number): string => `${Math.round(share * 100)} %`;

/** A sentence each; all that a learner is told. `broken`: in the words of the bench vehicle. */
export function debriefLines(told: Debrief, broken: readonly string[], by: readonly string[]): string[] {
  const { found, spent, knows, minutes, best, inVain, checks } = told;
  const known = Number.isFinite(knows);
  return [
    `It was: ${broken.join("; ").toLowerCase() || "nothing"}${by.length === 0 ? "" : ` (${by.join(", or ").toLowerCase()})`}.`,
    found
      ? "The change that mends it was made, and the fault went."
      : "No change that mends it was entered as having taken the fault away.",
    `Spent: ${spent} in money, time included, on ${checks.length} ${checks.length === 1 ? "check" : "checks"} and all changes, ${minutes} minutes altogether${known ? `; with the fault known: ${knows}` : ""}.`,
    best === null
      ? "No check that was entered spoke for it."
      : `What told most: ${best.name}. It raised what was broken from ${percent(best.before)} to ${percent(best.after)}.`,
    inVain.length === 0
      ? "Nothing was changed in vain."
      : `Changed in vain: ${inVain.map(({ name, cost }) => `${name} (${cost})`).join(", ")}.`,
  ];
}
