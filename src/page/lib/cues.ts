/** When a person beside the engine, away from the screen, is to hear something. Pure. */
import type { Series } from "../../../shared/channels.ts";

/** A sound for the person at the key: the module sees the engine turn, or the starter draws and it sees nothing. */
export type Cue = "speed" | "no-speed";

export const cueLimits = {
  /** The supply sags by this much, V, as the cranking focus takes it. */
  sagVolts: 1,
  /** ... and is over within this of rest, V: the supply ripples while the starter turns the engine. */
  backVolts: 0.6,
  /** ... for this long without a speed, milliseconds: slower buses read the speed four times a second. */
  silentMs: 1000,
  /** No reading is believed to hold longer than this, milliseconds. */
  staleMs: 2000,
  /** A sag that lasts this long is a load, such as glow plugs, and a new rest, milliseconds. */
  longestMs: 20_000,
  /** Rest follows a rise at once, and a fall by this time constant, milliseconds. */
  restFallMs: 8000,
  /** At least between two sounds of a kind, milliseconds. */
  restMs: 4000,
} as const;

/** A battery at rest is not above this, V: more is the alternator's, and its end is no sag. */
const restAtMostVolts = 12.9;

export interface CueState {
  readonly t: number;
  readonly restVolts: number | null;
  readonly sagSinceMs: number | null;
  /** As the sag, and the engine not seen to turn. */
  readonly silentSinceMs: number | null;
  /** A speed above zero was read since the last rest. */
  readonly turning: boolean;
  readonly lastMs: Readonly<Record<Cue, number>>;
}

export const noCue: CueState = {
  t: 0,
  restVolts: null,
  sagSinceMs: null,
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

/** The level at rest, and since when the supply is pulled below it. */
function foldSag(
  before: CueState,
  t: number,
  volts: number | null,
): Pick<CueState, "restVolts" | "sagSinceMs"> {
  if (volts === null) return { restVolts: before.restVolts, sagSinceMs: null };
  const known = Math.min(volts, restAtMostVolts);
  const rest = before.restVolts ?? known;
  const { sagVolts, backVolts, longestMs, restFallMs } = cueLimits;
  const sagging = known <= rest - (before.sagSinceMs === null ? sagVolts : backVolts);
  const sagSinceMs = sagging ? (before.sagSinceMs ?? t) : null;
  if (sagSinceMs !== null && t - sagSinceMs > longestMs) return { restVolts: known, sagSinceMs: null };
  const fall = Math.min(1, Math.max(0, t - before.t) / restFallMs);
  const restVolts = sagging ? rest : known > rest ? known : rest + (known - rest) * fall;
  return { restVolts, sagSinceMs };
}

export function foldCue(state: CueState, { t, volts, rpm }: CueInput): CueStep {
  const turns = rpm !== null && rpm > 0;
  const { restVolts, sagSinceMs } = foldSag(state, t, volts);
  const silentSinceMs = sagSinceMs !== null && !turns ? (state.silentSinceMs ?? t) : null;
  const due = (cue: Cue): boolean => t - state.lastMs[cue] >= cueLimits.restMs;
  let cue: Cue | null = null;
  if (turns && !state.turning && due("speed")) cue = "speed";
  else if (silentSinceMs !== null && t - silentSinceMs >= cueLimits.silentMs && due("no-speed"))
    cue = "no-speed";
  const lastMs = cue === null ? state.lastMs : { ...state.lastMs, [cue]: t };
  // An engine that turns is not cranked anew by one reading that was missed.
  const turning = turns || (state.turning && rpm === null);
  return { state: { t, restVolts, sagSinceMs, silentSinceMs, turning, lastMs }, cue };
}

/** The last reading of a series if it is fresh and answered. */
export function freshValue(series: Series | undefined, t: number): number | null {
  if (series === undefined || series.length === 0 || t - series.lastTime > cueLimits.staleMs) return null;
  const value = series.values[series.length - 1] ?? Number.NaN;
  return Number.isNaN(value) ? null : value;
}
