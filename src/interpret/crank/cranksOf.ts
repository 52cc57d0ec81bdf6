/** The attempts at starting in a recording, with their figures: for who wants to know of nothing else. */
import type { Source } from "../folds/source.ts";
import { crankFigures, findAttempts } from "./cranks.ts";
import { fuelOf } from "../profile/profile.ts";
import type { VehicleRanges } from "../report/ranges.ts";
import type { RegimeSpan } from "../folds/regimes.ts";
import type { Crank } from "../report/schema.ts";
import { ownSeries } from "../folds/windows.ts";

/** In these spans; a mark that speaks of cranking counts when it had ended by `until`. */
export function cranksOf(
  source: Source,
  spans: readonly RegimeSpan[],
  ranges: VehicleRanges,
  until = Number.POSITIVE_INFINITY,
): Crank[] {
  const marked = source.marks.flatMap((m) =>
    m.until !== undefined && m.until <= until && /\bcrank/i.test(m.label)
      ? [{ from: m.at, to: m.until }]
      : [],
  );
  const diesel = fuelOf(ranges.facts, source) === "diesel";
  const slowBelow = (ranges.figure(diesel ? "crank-speed-diesel" : "crank-speed").low ?? 150) - 10;
  const speed = ownSeries(source.channels, "engine-speed");
  return crankFigures(findAttempts(spans, speed, marked), source.channels, slowBelow);
}
