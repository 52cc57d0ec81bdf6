/**
 * What could be had: a classifier that knows nothing of engines and was shown recordings of the very same bench
 * vehicle with the same faults, of every seed but the one it is asked about. No tool can be shown so much of a vehicle
 * that it meets for the first time; where even this one fails, the data do not carry the answer.
 */
import type { Features } from "./features.ts";
import { Forest } from "./forest.ts";
import { views, type CaseSeen, type View } from "./tally.ts";

const labelOf = (one: CaseSeen): string => one.truth.join("+");

function shownOf(one: CaseSeen, view: View): Features {
  const out: Record<string, number> = { ...one.features };
  if (view.includes("codes")) for (const code of one.codes) out[`code ${code}`] = 1;
  if (view.includes("told")) for (const what of one.named[view]?.complaints ?? []) out[`told ${what}`] = 1;
  return out;
}

/** The causes it would name for each case, the likeliest first; none where there was no other seed to be shown. */
export function ceiling(cases: readonly CaseSeen[]): Map<CaseSeen, Record<View, readonly string[]>> {
  const broken = cases.filter((c) => c.fault !== null);
  const out = new Map<CaseSeen, Record<View, readonly string[]>>();
  for (const vehicle of new Set(broken.map((c) => c.vehicle))) {
    const own = broken.filter((c) => c.vehicle === vehicle);
    for (const seed of new Set(own.map((c) => c.seed))) {
      const shown = own.filter((c) => c.seed !== seed);
      if (shown.length === 0) continue;
      const forests = new Map(
        views.map((view) => [
          view,
          new Forest(shown.map((c) => ({ features: shownOf(c, view), label: labelOf(c) }))),
        ]),
      );
      for (const one of own.filter((c) => c.seed === seed)) {
        const named = (view: View): string[] => {
          const labels = forests.get(view)?.rank(shownOf(one, view)) ?? [];
          return [...new Set(labels.flatMap((label) => label.split("+")))];
        };
        out.set(one, {
          "told, codes": named("told, codes"),
          told: named("told"),
          codes: named("codes"),
          neither: named("neither"),
        });
      }
    }
  }
  return out;
}
