/**
 * Lean that grows with load: a pump, filter or line at its limit (common practice). On an air-flow meter the fit tells
 * it from the other shapes; elsewhere, and without a fit, load is held against idle.
 */
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { enough, halfWidth, type BankSums, type Mixture, type PlaceSum } from "./mixture.ts";
import type { Fit, Sign } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";

/**
 * Long trims are learned by zones of load, each a few points off on a sound engine (an open data set: 6.2 %): neighbouring
 * zones of flow share one, so that their scatter does not show it.
 */
export const soundOffset = 6;

export function deliverySigns(mixture: Mixture, fits: readonly Fit[], context: Context): Sign[] {
  const driven = mixture.banks.filter((b) => b.taken > 0);
  const fitted = new Set(fits.filter((f) => f.d !== undefined).map((f) => f.bank));
  const losses = driven.filter((b) => !fitted.has(b.bank)).flatMap((b) => lossOf(b));
  const compared = losses.map((loss) => lossSign(loss, losses, context));
  if (driven.length === 0 || fitted.size > 0 || compared.length > 0) return compared;
  return [
    makeSign("mixture.delivery", {
      verdict: "cannot-tell",
      channels: ["trim-short-b1", "trim-long-b1", "load"],
      range: context.ranges.figure("delivery-loss"),
      note: "No load was seen, and a pump or filter at its limit shows there first. Needs half a minute of a steady pull in closed loop.",
    }),
  ];
}

interface Loss {
  readonly sums: BankSums;
  readonly load: PlaceSum;
  /** Correction that load takes beyond little load, percent; no more than what load takes at all. */
  readonly value: number;
  readonly half: number;
}

function lossOf(sums: BankSums): Loss[] {
  const known = (sum: PlaceSum | undefined): sum is PlaceSum => sum !== undefined && enough(sum);
  const load = sums.places.get("load");
  const little = [sums.places.get("idle"), sums.places.get("cruise")].find(known);
  if (!known(load) || little === undefined) return [];
  // Rich at idle and less so under load is no loss of fuel under load.
  const value = Math.min(load.trims.mean, load.trims.mean - little.trims.mean);
  return [{ sums, load, value, half: Math.hypot(halfWidth(load), halfWidth(little), soundOffset) }];
}

/** Pump and filter feed both banks: what shows on one alone is something else. */
function lossSign({ sums, load, value, half }: Loss, all: readonly Loss[], context: Context): Sign {
  const range = context.ranges.figure("delivery-loss");
  const found = judge(value, range, half);
  const alone = found.verdict === "outside" && all.some((other) => other.value < value / 2);
  return makeSign("mixture.delivery", {
    ...found,
    ...(alone
      ? {
          verdict: "near" as const,
          looksLike: ["injectors-bank", "misfire-looks-lean"] as const,
          note: "On one bank only: pump and filter would show on both.",
        }
      : {}),
    of: `b${sums.bank}`,
    bank: sums.bank,
    windows: load.evidence.windows,
    channels: [sums.shortChannel, sums.longChannel, "load"],
    range,
    measured: {
      ...load.evidence.measured(
        `fuel trim under load, beyond that at light load, bank ${sums.bank}`,
        "%",
        value,
      ),
      interval: { low: round(value - half, 2), high: round(value + half, 2), level: 0.95 },
    },
  });
}
