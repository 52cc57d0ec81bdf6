import type { Belief } from "./belief.ts";
import type { Model } from "./model.ts";
import type { Weighed } from "./weighed.ts";
import { checkActs } from "./tables/acts.ts";

/** Checks that change the part itself in minutes and for nothing, of causes that stand high. Estimates. */
const quick = { minutes: 10, causes: 3, share: 0.05 } as const;

/** Those of the checks that swap, bypass or move a part that stands high. */
export function swapsFor(belief: Belief, weighed: readonly Weighed[], model: Model): Weighed[] {
  const high = model.causes
    .map((row, h) => ({ id: row.id, share: belief.shares[h] ?? 0 }))
    .filter((c) => c.share >= quick.share)
    .sort((a, b) => b.share - a.share)
    .slice(0, quick.causes)
    .map((c) => c.id);
  return weighed.filter(
    (w) =>
      w.minutes <= quick.minutes &&
      w.check.money === 0 &&
      checkActs.some(
        (a) =>
          a.check === w.check.id &&
          a.did === "changed" &&
          a.effect === "gone" &&
          (a.causes as readonly string[]).some((id) => high.includes(id)),
      ),
  );
}
