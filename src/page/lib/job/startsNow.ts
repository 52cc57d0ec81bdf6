import type { Crank, Outcome } from "../../../interpret/report/schema.ts";

const failed: ReadonlySet<Outcome> = new Set<Outcome>([
  ...(["nothing-happened", "no-turn", "turned-without-signal"] as const),
  ...(["turned-slowly", "turned-and-did-not-fire", "fired-and-died"] as const),
]);

/** The last crank, where it started and one before it did not: something is different. Null otherwise. */
export function startsNow(cranks: readonly Crank[]): Crank | null {
  const last = cranks.at(-1);
  if (last?.outcome !== "started") return null;
  const before = cranks.at(-2);
  return before !== undefined && failed.has(before.outcome) ? last : null;
}
