/** When a person beside the engine, away from the screen, is to hear something. Pure. */
import type { Series } from "../../../../shared/channels.ts";
import type { LiveCrank } from "../../../interpret/crank/live.ts";
import { firstSupply, foldSupply, type SupplyState } from "../../../../shared/supply.ts";

/** A sound for the person at the key: the module sees the engine turn, or the starter draws and it sees nothing. */
export type Cue = "speed" | "no-speed";

/** How the crank goes on: it fires, it stops under the starter, it was let go without having fired, it died. */
export type VerdictCue = "fired" | "stopped" | "in-vain" | "died";

/** What is heard when the verdict of a crank becomes another one; each once an attempt, but a stop each time. */
export function verdictCue(before: LiveCrank | null, now: LiveCrank): VerdictCue | null {
  const same = before?.number === now.number;
  if (same && before.state === now.state && before.provisional === now.provisional) return null;
  switch (now.state) {
    case "fired":
      return "fired";
    // One that is over when it is first told of started between two questions.
    case "runs":
      return same && before.state === "fired" ? null : "fired";
    case "died":
      return "died";
    case "stopped":
    case "lost":
      return now.provisional ? "stopped" : "in-vain";
    case "no-fire":
    case "no-speed":
    case "no-answer":
      return now.provisional ? null : "in-vain";
    default:
      return null;
  }
}

export const cueLimits = {
  /** The supply sags for this long without a speed, milliseconds: slower buses read the speed four times a second. */
  silentMs: 1000,
  /** No reading is believed to hold longer than this, milliseconds. */
  staleMs: 2000,
  /** At least between two sounds of a kind, milliseconds. */
  restMs: 4000,
} as const;

export interface CueState {
  /** The supply as it was read last, sag and rest. */
  readonly supply: SupplyState;
  /** As the sag, and the engine not seen to turn. */
  readonly silentSinceMs: number | null;
  /** A speed above zero was read since the last rest. */
  readonly turning: boolean;
  readonly lastMs: Readonly<Record<Cue, number>>;
}

export const noCue: CueState = {
  supply: firstSupply,
  silentSinceMs: null,
  turning: false,
  lastMs: { speed: Number.NEGATIVE_INFINITY, "no-speed": Number.NEGATIVE_INFINITY },
};

/** What was read last, or null where there is nothing fresh. */
export interface CueInput {
  readonly t: number;
  readonly volts: number | null;
  readonly rpm: number | null;
}

export interface CueStep {
  readonly state: CueState;
  readonly cue: Cue | null;
}

export function foldCue(state: CueState, { t, volts, rpm }: CueInput): CueStep {
  const turns = rpm !== null && rpm > 0;
  // Without a fresh reading nothing is known of a sag; rest stays what it was.
  const supply =
    volts === null ? { ...state.supply, t, sagSinceMs: null } : foldSupply(state.supply, t, volts);
  const { sagSinceMs } = supply;
  const silentSinceMs = sagSinceMs !== null && !turns ? (state.silentSinceMs ?? t) : null;
  const due = (cue: Cue): boolean => t - state.lastMs[cue] >= cueLimits.restMs;
  let cue: Cue | null = null;
  if (turns && !state.turning && due("speed")) cue = "speed";
  else if (silentSinceMs !== null && t - silentSinceMs >= cueLimits.silentMs && due("no-speed"))
    cue = "no-speed";
  const lastMs = cue === null ? state.lastMs : { ...state.lastMs, [cue]: t };
  // An engine that turns is not cranked anew by one reading that was missed.
  const turning = turns || (state.turning && rpm === null);
  return { state: { supply, silentSinceMs, turning, lastMs }, cue };
}

/** The last reading of a series if it is fresh and answered. */
export function freshValue(series: Series | undefined, t: number): number | null {
  if (series === undefined || series.length === 0 || t - series.lastTime > cueLimits.staleMs) return null;
  const value = series.values[series.length - 1] ?? Number.NaN;
  return Number.isNaN(value) ? null : value;
}
