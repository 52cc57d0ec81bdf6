/** From what the watches tell, what the engine does next: one step for each instant. Nothing here is remembered. */
import type { Cut } from "./cuts.ts";
import { regimeLimits } from "./regimeLimits.ts";
import type { Pending } from "./speedWatch.ts";
import type { Watches } from "./watches.ts";

/** What the engine is taken to do, since when. */
export type Phase =
  /** A module answers, and nothing tells yet what the engine does. */
  | { readonly at: "unknown"; readonly from: number }
  /** No module answers. */
  | { readonly at: "silent"; readonly from: number }
  | { readonly at: "stopped"; readonly from: number }
  /** The starter draws, and no speed is told. */
  | { readonly at: "no-speed"; readonly from: number }
  | { readonly at: "turning"; readonly from: number }
  /** By itself; `lastRun` is the last instant at which it did. */
  | { readonly at: "running"; readonly from: number; readonly lastRun: number };

type Is<At extends Phase["at"]> = Extract<Phase, { at: At }>;

export interface PhaseStep {
  readonly phase: Phase;
  /** What is said now of the instants since, in this order. */
  readonly cuts: readonly Cut[];
  /** The engine began or ceased to run: what the supply was at before says nothing any more. */
  readonly anew: boolean;
  /** It runs by itself from `phase.from` on, and was started there, or ran before anybody listened. */
  readonly runs?: "started" | "ran before";
}

/** The step at this instant; null where all stays as it was. */
export function nextPhase(phase: Phase, watches: Watches, t: number): PhaseStep | null {
  switch (phase.at) {
    case "unknown":
      return fromUnknown(phase, watches, t);
    case "silent":
    case "stopped":
      return fromStopped(phase, watches, t);
    case "no-speed":
      return fromNoSpeed(phase, watches, t);
    case "turning":
      return fromTurning(watches, t);
    case "running":
      return fromRunning(phase, watches, t);
  }
}

function fromUnknown(phase: Is<"unknown">, watches: Watches, t: number): PhaseStep | null {
  const { from } = phase;
  const { pending, before, asked } = watches.speed;
  if (pending === null)
    return asked || t - from < regimeLimits.togetherMs
      ? to(phase, { from, regime: "key-on" })
      : withoutSpeed(phase, watches, t);
  const sure = pending.count >= 2;
  // The first reading of a start may be the only one at rest.
  const wasStopped = pending.category === "run" && before?.category === "zero" && isAtRest(watches, t);
  if (pending.category === "zero" || wasStopped) {
    const stands = sure || wasStopped || isAtRest(watches, t);
    return to(stands ? { at: "stopped", from } : phase, { from, regime: "key-on" });
  }
  if (pending.category === "crank")
    return to(sure ? { at: "turning", from } : phase, { from, regime: "cranking" });
  return sure ? run(from, "ran before") : to(phase, { from, regime: "running" });
}

/** No speed was ever asked: what else tells a running engine. */
function withoutSpeed(phase: Is<"unknown">, watches: Watches, t: number): PhaseStep {
  const runTime = watches.runTime(t);
  const { manifold, barometric } = watches.surroundings(t);
  const pulled = manifold !== null && barometric !== null && manifold < 0.7 * barometric;
  const regime = (runTime !== null && runTime > 0) || pulled ? "running" : "key-on";
  const own = to(phase, { from: phase.from, regime });
  const step = fromStopped(phase, watches, t);
  return step === null ? own : { ...step, cuts: [...own.cuts, ...step.cuts] };
}

/** Something other than speed says that the engine stands still. */
function isAtRest(watches: Watches, t: number): boolean {
  const { manifold, barometric } = watches.surroundings(t);
  if (manifold !== null && barometric !== null) return manifold >= regimeLimits.openManifold * barometric;
  return watches.runTime(t) === 0;
}

function fromStopped(
  phase: Is<"unknown" | "silent" | "stopped">,
  { speed, supply }: Watches,
  t: number,
): PhaseStep | null {
  const { pending } = speed;
  const sag = supply.recent(t, regimeLimits.togetherMs);
  if (pending?.category === "crank" && (pending.count >= 2 || sag !== null)) {
    const withIt = sag !== null && pending.from - sag <= regimeLimits.noSpeedMs;
    return turn(withIt ? Math.min(pending.from, sag) : pending.from);
  }
  if (pending !== null && speed.holds("run", t, regimeLimits.startHoldMs))
    return start(phase, pending, speed.before);
  // One reading of a sag is noise, unless the module fell silent with it.
  const dumb = sag !== null && speed.lastUnanswered >= sag - regimeLimits.releasedMs;
  const longest = supply.longest(phase.from, dumb ? 1 : 2);
  if (longest === null || (pending !== null && pending.category !== "zero")) return null;
  const { from, low, to: ended } = longest;
  const length = (ended ?? low) - from;
  const asked = speed.lastNone >= from + Math.min(500, length / 2);
  // The rest of a sag whose crank had a speed is only the starter running on.
  const rest = from <= phase.from;
  const ongoing = ended === null;
  if (length < (ongoing || rest ? regimeLimits.noSpeedMs : regimeLimits.shortestSagMs)) return null;
  const silent = phase.at === "silent";
  if (speed.asked && !asked && !silent) return null;
  const sagged: Cut = { from, regime: speed.asked || silent ? "no-speed" : "cranking" };
  return ongoing
    ? to({ at: "no-speed", from }, sagged)
    : to({ ...phase, from: ended }, sagged, { from: ended, regime: silent ? "silent" : "key-on" });
}

function fromNoSpeed(
  phase: Is<"no-speed">,
  { speed, supply, answers }: Watches,
  t: number,
): PhaseStep | null {
  const { pending } = speed;
  if (pending !== null && pending.from >= phase.from) {
    if (pending.category === "crank" && pending.count >= 2) return turn(pending.from);
    if (speed.holds("run", t, regimeLimits.startHoldMs)) return start(phase, pending, speed.before);
  }
  const end = supply.endedAfter(phase.from);
  if (end === null && supply.sagging) return null;
  const from = end ?? t;
  return answers.last === null || t - answers.last > regimeLimits.silentLeastMs
    ? to({ at: "silent", from }, { from, regime: "silent" })
    : to({ at: "stopped", from }, { from, regime: "key-on" });
}

function fromTurning({ speed, supply }: Watches, t: number): PhaseStep | null {
  const { pending } = speed;
  if (pending === null) return null;
  const { from } = pending;
  if (speed.holds("run", t, regimeLimits.startHoldMs)) return run(from, "started");
  // The starter was let go.
  const released = (): PhaseStep => anew({ at: "stopped", from }, { from, regime: "key-on" });
  if (pending.category !== "zero" || !supply.sagging)
    return speed.holds("zero", t, regimeLimits.stopHoldMs) ? released() : null;
  const low = supply.lastLow - from >= regimeLimits.noSpeedMs - regimeLimits.stopHoldMs;
  if (low && speed.holds("zero", t, regimeLimits.noSpeedMs))
    return to({ at: "no-speed", from }, { from, regime: "no-speed" });
  const back = supply.backSince;
  return back !== null && t - Math.max(back, from) >= regimeLimits.releasedMs ? released() : null;
}

function fromRunning(phase: Is<"running">, watches: Watches, t: number): PhaseStep | null {
  const { pending, before } = watches.speed;
  if (pending === null || pending.category === "run") return null;
  const sag = watches.supply.recent(t, regimeLimits.togetherMs);
  const restart =
    pending.category === "crank" &&
    sag !== null &&
    sag > phase.from &&
    sag >= pending.from - regimeLimits.togetherMs;
  if (restart) {
    const from = Math.min(phase.lastRun + 1, pending.from);
    return turn(pending.from, { from, regime: watches.wasShutOff(from, t) ? "shut-off" : "stall" });
  }
  if (watches.rpm === null || pending.category !== "zero") return null;
  if (!watches.speed.holds("zero", t, regimeLimits.stallHoldMs)) return null;
  const from = before?.category === "crank" ? before.from : pending.from;
  if (watches.wasShutOff(pending.from, t)) return anew({ at: "stopped", from }, { from, regime: "shut-off" });
  const shown: Cut = { from: from + regimeLimits.stallShownMs, regime: "key-on" };
  return anew({ at: "stopped", from }, { from, regime: "stall" }, shown);
}

function to(phase: Phase, ...cuts: readonly Cut[]): PhaseStep {
  return { phase, cuts, anew: false };
}

function anew(phase: Phase, ...cuts: readonly Cut[]): PhaseStep {
  return { phase, cuts, anew: true };
}

function turn(from: number, ...before: readonly Cut[]): PhaseStep {
  return to({ at: "turning", from }, ...before, { from, regime: "cranking" });
}

function run(from: number, runs: "started" | "ran before", ...before: readonly Cut[]): PhaseStep {
  return { ...anew({ at: "running", from, lastRun: from }, ...before), runs };
}

/** Out of standing still into running; a reading at cranking speed in between belongs to the crank. */
function start(phase: Phase, pending: Pending, before: Pending | null): PhaseStep {
  const cranked = before?.category === "crank" && before.from >= phase.from;
  return run(
    pending.from,
    "started",
    ...(cranked ? [{ from: before.from, regime: "cranking" } as const] : []),
  );
}
