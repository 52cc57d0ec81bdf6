/** A crank on the paper while it goes on: a time scale of its own, and what a ramp may be held against. Pure. */
import { liveLimits, type LiveCrank } from "../../../interpret/crank/live.ts";
import { channelOf } from "./lanes.ts";
import type { Stretch } from "./window.ts";

export const crankScale = {
  /** Shown before the sag, milliseconds. */
  beforeMs: 1000,
  /** The paper is this long at first, and grows by so much when the crank reaches its end, milliseconds. */
  firstMs: 6000,
  stepMs: 4000,
  /** Room that stays free ahead of the pen. */
  aheadMs: 500,
  /** The crank stays on its own scale for so long after it, milliseconds. */
  afterMs: 4000,
} as const;

/** Where the crank fills the width; null when the usual paper holds. `now`: milliseconds. */
export function crankStretch(crank: LiveCrank, now: number): Stretch | null {
  const { beforeMs, firstMs, stepMs, aheadMs, afterMs } = crankScale;
  const starterOff = crank.firedS === null ? crank.to : crank.from + crank.firedS * 1000;
  if (starterOff !== null && now - starterOff > afterMs) return null;
  const needed = now + aheadMs - crank.from;
  const steps = Math.max(0, Math.ceil((needed - firstMs) / stepMs));
  return { from: Math.max(0, crank.from - beforeMs), to: crank.from + firstMs + steps * stepMs };
}

/** They say nothing of an engine that does not run yet. */
const silentYet =
  /^(trim-|oxygen-|equivalence-|catalyst|fuel-system-|coolant$|oil-temperature$|vehicle-speed$|load$)/;

/** None of a lane's channels can say anything while the starter turns. */
export function givesWay(lane: readonly string[]): boolean {
  return lane.length > 0 && lane.every((entry) => silentYet.test(channelOf(entry)));
}

/**
 * At this time the starter spins up or the engine runs down: what it reads then is a ramp, which no range is for.
 * `crank`: the one that goes on or the last; `now` and `t` in milliseconds.
 */
export function isRamp(crank: LiveCrank | null, t: number): boolean {
  if (crank === null || t < crank.from) return false;
  if (t < crank.from + liveLimits.rampMs) return true;
  const end = crank.to ?? (crank.state === "released" ? crank.from + crank.crankedS * 1000 : null);
  return end !== null && t >= end && t <= end + crankScale.afterMs;
}
