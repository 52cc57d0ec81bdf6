/** The attempts at starting in a recording, with their figures: for who wants to know of nothing else. */
import type { Source } from "../folds/source.ts";
import { crankFigures, findAttempts } from "./cranks.ts";
import { slowBelow } from "./liveOf.ts";
import type { VehicleProfile } from "../profile/profile.ts";
import type { VehicleRanges } from "../report/ranges.ts";
import type { RegimeSpan } from "../folds/regimes.ts";
import type { Crank } from "../report/schema.ts";
import { ownSeries } from "../folds/windows.ts";

interface Known {
  readonly ranges: VehicleRanges;
  /** What is known of its fuel from anywhere, the readings included; null: unknown. */
  readonly fuel: VehicleProfile["fuel"]["value"];
  readonly until?: number;
}

/** In these spans; a mark that speaks of cranking counts when it had ended by `until`. */
export function cranksOf(
  source: Source,
  spans: readonly RegimeSpan[],
  { ranges, fuel, until = Number.POSITIVE_INFINITY }: Known,
): Crank[] {
  const marked = source.marks.flatMap((m) =>
    m.until !== undefined && m.until <= until && /\bcrank/i.test(m.label)
      ? [{ from: m.at, to: m.until }]
      : [],
  );
  const speed = ownSeries(source.channels, "engine-speed");
  return crankFigures(findAttempts(spans, speed, marked), source.channels, slowBelow(ranges, fuel));
}
