import { failedOutcomes, type Crank } from "../../../interpret/report/schema.ts";

/** The last crank, where it started and one before it did not: something is different. Null otherwise. */
export function startsNow(cranks: readonly Crank[]): Crank | null {
  const last = cranks.at(-1);
  if (last?.outcome !== "started") return null;
  const before = cranks.at(-2);
  return before !== undefined && failedOutcomes.has(before.outcome) ? last : null;
}
