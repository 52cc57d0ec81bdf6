/** By what a live crank is judged on one vehicle. */
import { runsFrom } from "../folds/regimeLimits.ts";
import type { Source } from "../folds/source.ts";
import { fuelOf, type VehicleProfile } from "../profile/profile.ts";
import type { VehicleRanges } from "../report/ranges.ts";
import type { LiveOptions } from "./live.ts";

/**
 * Slower than this is slow, rpm: the low end of the range, less what single readings err by. `fuel` null: unknown, and
 * only what is slow for either kind is slow.
 */
export function slowBelow(ranges: VehicleRanges, fuel: VehicleProfile["fuel"]["value"]): number {
  const below = (of: "crank-speed" | "crank-speed-diesel"): number => (ranges.figure(of).low ?? 150) - 10;
  if (fuel === null) return Math.min(below("crank-speed"), below("crank-speed-diesel"));
  return below(fuel === "diesel" ? "crank-speed-diesel" : "crank-speed");
}

/**
 * While it happens. `ranges` know what was told and what the findings so far saw; before the first of them the module is
 * asked by itself.
 */
export function liveOptionsOf(source: Source, ranges: VehicleRanges): LiveOptions {
  const volts = ranges.figure("crank-voltage");
  return {
    slowBelow: slowBelow(ranges, ranges.fuel ?? fuelOf(ranges.facts, source) ?? null),
    runAt: runsFrom(ranges.facts),
    leastVolts: volts.replaced ? volts.low : null,
  };
}
