/** Where the folds of regimes and cranks draw their lines. Times in milliseconds, speeds in rpm. */
export const regimeLimits = {
  /** From here on the engine turns at all, rpm. */
  turning: 30,
  /** From here on it runs by itself, rpm: held above 400 to 500 is started (common practice). */
  running: 450,
  /** A start, a stop of the starter and a stall must hold this long, milliseconds, and for two readings. */
  startHoldMs: 500,
  stopHoldMs: 500,
  /** No speed and the voltage back for this long: the starter was let go. */
  releasedMs: 1000,
  stallHoldMs: 1000,
  /** Sag without speed for this long is a sign of its own; shorter is the usual delay of the first signal. */
  noSpeedMs: 1500,
  shortestSagMs: 300,
  /** How far apart, milliseconds, voltage and speed may tell of the same crank: slow buses ask in turn. */
  togetherMs: 3000,
  /** Shown as stalled at most this long; after that the key is simply on. */
  stallShownMs: 2000,
  /** A value older than this says nothing of now, milliseconds. */
  staleMs: 8000,
  /** No answer for this many usual intervals, within these bounds, is silence. */
  silentIntervals: 4,
  silentLeastMs: 3000,
  silentMostMs: 20_000,
  /** Without data for no longer than this, starter on before and behind it, the crank goes on, milliseconds. */
  gapMs: 5000,
  /** Manifold at this share of barometric pressure is not being pulled down by a running engine. */
  openManifold: 0.93,
} as const;

export interface RegimeFacts {
  readonly idleRpm?: number | undefined;
  /** It shuts its engine off at standstill. */
  readonly stopsAtStandstill?: boolean | undefined;
}

/** From this speed on it runs by itself, rpm. */
export function runsFrom({ idleRpm }: RegimeFacts): number {
  if (idleRpm === undefined) return regimeLimits.running;
  return Math.min(regimeLimits.running, Math.max(250, idleRpm - 150));
}
