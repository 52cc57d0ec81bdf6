import type { Regime } from "../../../../shared/ranges.ts";

/** "motion": the chart has the room. "rest": the sheet has the width. */
export type Posture = "motion" | "rest";

export interface PostureState {
  readonly posture: Posture;
  /** What the engine did when last looked at, and since when, milliseconds. */
  readonly engine: Posture;
  readonly since: number;
  /** The page has not followed yet. */
  readonly due: boolean;
}

export const restPosture: PostureState = { posture: "rest", engine: "rest", since: 0, due: false };

/** A crank shorter than this, or a gap in it, turns nothing round. */
export const followsAfterMs = 1500;

const moving: ReadonlySet<Regime> = new Set<Regime>([
  ...(["cranking", "no-speed", "run-up", "idle", "idle-cold", "idle-warm"] as const),
  ...(["held", "cruise", "load", "overrun", "running"] as const),
]);

/** Null: no engine that could move is listened to. */
export function engineOf(regime: Regime | null): Posture {
  return regime !== null && moving.has(regime) ? "motion" : "rest";
}

/** The page follows the engine a moment later, and waits for as long as a hand is on it. */
export function followEngine(
  state: PostureState,
  { t, engine, busy }: { readonly t: number; readonly engine: Posture; readonly busy: boolean },
): PostureState {
  if (engine !== state.engine) return { ...state, engine, since: t, due: true };
  if (!state.due || busy || t - state.since < followsAfterMs) return state;
  return { ...state, posture: engine, due: false };
}

/** By key: it stays so until the engine does something else. */
export function turnPosture(state: PostureState): PostureState {
  return { ...state, posture: state.posture === "rest" ? "motion" : "rest", due: false };
}

/** Share of the width that the chart has while the sheet is read: what was dragged, within what both can use. */
export const splitLimits = { least: 0.2, most: 0.7, usual: 0.345 } as const;

export function splitWithin(share: number): number {
  return Math.min(splitLimits.most, Math.max(splitLimits.least, share));
}
