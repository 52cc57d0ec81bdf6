/** By what a live crank is judged on one vehicle. */
import { runsFrom } from "../folds/regimeLimits.ts";
import type { Source } from "../folds/source.ts";
import { fuelOf } from "../profile/profile.ts";
import type { VehicleRanges } from "../report/ranges.ts";
import type { LiveOptions } from "./live.ts";

/** Slower than this is slow, rpm: the low end of the range, less what single readings err by. */
export function slowBelow(source: Source, ranges: VehicleRanges): number {
  const diesel = fuelOf(ranges.facts, source) === "diesel";
  return (ranges.figure(diesel ? "crank-speed-diesel" : "crank-speed").low ?? 150) - 10;
}

export function liveOptionsOf(source: Source, ranges: VehicleRanges): LiveOptions {
  const volts = ranges.figure("crank-voltage");
  return {
    slowBelow: slowBelow(source, ranges),
    runAt: runsFrom(ranges.facts),
    leastVolts: volts.replaced ? volts.low : null,
  };
}
