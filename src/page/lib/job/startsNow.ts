import type { CauseAdvice } from "../../../interpret/causes/adviceSchema.ts";
import type { Act } from "../../../interpret/causes/results.ts";
import { failedOutcomes, type Crank } from "../../../interpret/report/schema.ts";
import { capital } from "../../../../shared/letters.ts";

/** Started where the crank before it failed, or failed where the one before it started: something is different. */
export interface Turned {
  readonly to: "starts" | "fails";
  readonly crank: Crank;
}

/** How the last crank differs from the one before it; null where it does not. */
export function turnedNow(cranks: readonly Crank[]): Turned | null {
  const crank = cranks.at(-1);
  const before = cranks.at(-2);
  if (crank === undefined || before === undefined) return null;
  if (crank.outcome === "started") return failedOutcomes.has(before.outcome) ? { to: "starts", crank } : null;
  return failedOutcomes.has(crank.outcome) && before.outcome === "started" ? { to: "fails", crank } : null;
}

/** The change that made it start and that nothing undid since; null where there is none. */
export function standingChange(acts: readonly Act[]): Act | null {
  const last = acts.findLast((act) => !act.withdrawn && act.effect !== "unclear");
  return last?.did === "changed" && (last.effect === "gone" || last.effect === "better") ? last : null;
}

type Likely = Pick<CauseAdvice, "id" | "name" | "place" | "repair">;

/** What may have been changed, by its part, each once: of several faults of one part the likeliest. */
export function changedParts(causes: readonly Likely[]): { readonly id: string; readonly words: string }[] {
  const parts = causes.map(({ id, name, place, repair: { part } }) => ({
    id,
    words: part === null ? name : `${capital(part)} (${place})`,
  }));
  return parts.filter(({ words }, i) => parts.findIndex((one) => one.words === words) === i);
}
