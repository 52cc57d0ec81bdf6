/** When the supply voltage counts as pulled down by a starter. Volts; doubled on a 24 V system. */
export const sagLimits = {
  /** Below the level at rest: beyond what a fuel pump or lamps draw (common practice). */
  belowRest: 0.6,
  /** A charge that fades after running falls too, but not below this. */
  restCeiling: 12.3,
  /** The sag is over when the voltage has come back to this close below the level at rest. */
  back: 0.4,
  /** A running engine's supply must fall this far, and below `runningFloor`, before a starter is believed. */
  belowRunning: 1.5,
  runningFloor: 11.9,
  /** Nobody cranks this long: what lasts longer is a new level at rest. */
  longestMs: 30_000,
} as const;

const ringLength = 9;

/** Follows one voltage channel: its level at rest and the stretch it is pulled below it. */
export class SagTracker {
  readonly #ring: number[] = [];
  /** First reading of the present or last sag, milliseconds; null when there was none yet. */
  start: number | null = null;
  /** First reading after the last sag; null while it lasts. */
  end: number | null = null;
  /** Readings inside the present or last sag. */
  count = 0;
  lastTime = Number.NEGATIVE_INFINITY;
  /** Level before the present or last sag, volts. */
  level: number | null = null;

  get sagging(): boolean {
    return this.start !== null && this.end === null;
  }

  /** The engine stopped or started: the level before says nothing any more. */
  forget(): void {
    this.#ring.length = 0;
  }

  take(t: number, volts: number, running: boolean): void {
    this.lastTime = t;
    const level = this.#median();
    if (this.sagging) {
      const before = this.level ?? volts;
      const scale = before > 18 ? 2 : 1;
      const tooLong = t - (this.start ?? t) > sagLimits.longestMs;
      if (volts < before - sagLimits.back * scale && !tooLong) {
        this.count += 1;
        return;
      }
      this.end = t;
      if (tooLong) this.forget();
    } else if (level !== null && isSag(volts, level, running)) {
      this.start = t;
      this.end = null;
      this.count = 1;
      this.level = level;
      return;
    }
    this.#ring.push(volts);
    if (this.#ring.length > ringLength) this.#ring.shift();
  }

  #median(): number | null {
    if (this.#ring.length === 0) return null;
    const sorted = [...this.#ring].sort((a, b) => a - b);
    return sorted[sorted.length >> 1] ?? null;
  }
}

function isSag(volts: number, level: number, running: boolean): boolean {
  const scale = level > 18 ? 2 : 1;
  if (running)
    return volts < level - sagLimits.belowRunning * scale && volts < sagLimits.runningFloor * scale;
  return volts < level - sagLimits.belowRest * scale && volts < sagLimits.restCeiling * scale;
}

/** Socket and module voltage together: whichever exists, or both. */
export class Supply {
  readonly socket = new SagTracker();
  readonly module = new SagTracker();
  readonly #both = [this.socket, this.module] as const;

  get sagging(): boolean {
    return this.#both.some((s) => s.sagging);
  }

  /** Start of the sag that is on, milliseconds, or null. */
  get sagStart(): number | null {
    return earliest(this.#both.map((s) => (s.sagging ? s.start : null)));
  }

  /** Start of a sag that is on or ended at most `withinMs` ago, or null. */
  recent(t: number, withinMs: number): number | null {
    return earliest(this.#both.map((s) => (t - (s.end ?? t) > withinMs ? null : s.start)));
  }

  /** The end of the first sag that ended after `from`, or null. */
  endedAfter(from: number): number | null {
    return earliest(this.#both.map((s) => (s.end !== null && s.end > from ? s.end : null)));
  }

  /** The stretch after `since` in which two or more readings were pulled down; `to` is null while it lasts. */
  longest(t: number, since: number): { from: number; to: number | null } | null {
    let best: { from: number; to: number | null } | null = null;
    for (const s of this.#both) {
      if (s.start === null || s.count < 2 || (s.end ?? t) <= since) continue;
      const from = Math.max(s.start, since);
      if (best === null || from < best.from) best = { from, to: s.end };
    }
    return best;
  }

  /** The engine started or stopped: the levels of before say nothing any more. */
  forget(): void {
    for (const s of this.#both) s.forget();
  }
}

function earliest(times: readonly (number | null)[]): number | null {
  const known = times.filter((t) => t !== null);
  return known.length === 0 ? null : Math.min(...known);
}
