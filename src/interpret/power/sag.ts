import { socketVoltage } from "../../../shared/decode.ts";
import { supplyScale } from "../../../shared/supply.ts";
import type { InstantReading } from "../folds/followed.ts";
import { regimeLimits } from "../folds/regimeLimits.ts";

/**
 * When the supply voltage counts as pulled down by a starter. Volts of a 12 V system. A recording is known before and
 * behind each reading, so this is finer than what a person is told live (shared/supply.ts), which knows the same two
 * nominal voltages.
 */
export const sagLimits = {
  /** Below the level at rest: beyond what a fuel pump or lamps draw (common practice). */
  belowRest: 0.6,
  /** A charge that fades after running falls too, but not below this. */
  restCeiling: 12.3,
  /** The sag is over when the voltage has come back to this close below the level at rest ... */
  back: 0.3,
  /** ... or within this share of the deepest fall, where other consumers stay on ... */
  backShare: 0.4,
  /** ... the inrush of the starter left out, milliseconds ... */
  inrushMs: 400,
  /** ... and stayed there: single readings fall anywhere on the ripple of a turning starter. Milliseconds. */
  backForMs: 3000,
  /** A supply at rest is flat, which a turning starter's never is: then this long is enough, with so many readings. */
  flatForMs: 500,
  flatReadings: 3,
  flat: 0.12,
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
  readonly #sorted = new Float64Array(ringLength);
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

  /** The engine stopped or started: the level before says nothing any more, and a sag is over. */
  forget(t: number): void {
    this.#ring.length = 0;
    if (this.sagging) this.end = this.#backSince ?? t;
  }

  /** Last reading that was pulled down. */
  lastLow = Number.NEGATIVE_INFINITY;
  #backSince: number | null = null;
  #deepest = 0;
  /** Readings since it came back, with the lowest and the highest. */
  #backs = 0;
  #backLow = 0;
  #backHigh = 0;

  get backSince(): number | null {
    return this.#backSince;
  }

  take(t: number, volts: number, running: boolean): void {
    this.lastTime = t;
    if (this.sagging) {
      if (!this.#over(t, volts)) return;
    } else {
      const level = this.#median();
      if (level !== null && isSag(volts, level, running)) {
        this.start = t;
        this.end = null;
        this.count = 1;
        this.level = level;
        this.lastLow = t;
        this.#deepest = 0;
        this.#backSince = null;
        return;
      }
    }
    this.#ring.push(volts);
    if (this.#ring.length > ringLength) this.#ring.shift();
  }

  /** Whether the sag that is on has ended, as told by this reading; the end is set back to where it came. */
  #over(t: number, volts: number): boolean {
    const level = this.level ?? volts;
    const scale = supplyScale(level);
    if (t - (this.start ?? t) > sagLimits.longestMs) {
      this.forget(t);
      return true;
    }
    if (t - (this.start ?? t) >= sagLimits.inrushMs) this.#deepest = Math.max(this.#deepest, level - volts);
    if (volts < level - Math.max(sagLimits.back * scale, sagLimits.backShare * this.#deepest)) {
      this.count += 1;
      this.lastLow = t;
      this.#backSince = null;
      return false;
    }
    if (this.#backSince === null) {
      this.#backSince = t;
      this.#backs = 0;
      this.#backLow = this.#backHigh = volts;
    }
    this.#backs += 1;
    this.#backLow = Math.min(this.#backLow, volts);
    this.#backHigh = Math.max(this.#backHigh, volts);
    const flat =
      this.#backs >= sagLimits.flatReadings && this.#backHigh - this.#backLow <= sagLimits.flat * scale;
    if (t - this.#backSince < (flat ? sagLimits.flatForMs : sagLimits.backForMs)) return false;
    this.end = this.#backSince;
    return true;
  }

  /** The upper of the two in the middle of an even number. */
  #median(): number | null {
    const sorted = this.#sorted;
    let n = 0;
    for (let i = 0; i < this.#ring.length; i++) {
      const volts = this.#ring[i] ?? 0;
      let place = n++;
      for (; place > 0 && (sorted[place - 1] ?? 0) > volts; place--) sorted[place] = sorted[place - 1] ?? 0;
      sorted[place] = volts;
    }
    return n === 0 ? null : (sorted[n >> 1] ?? null);
  }
}

function isSag(volts: number, level: number, running: boolean): boolean {
  const scale = supplyScale(level);
  if (running)
    return volts < level - sagLimits.belowRunning * scale && volts < sagLimits.runningFloor * scale;
  return volts < level - sagLimits.belowRest * scale && volts < sagLimits.restCeiling * scale;
}

/** Socket and module voltage together: whichever exists, or both. */
export class Supply {
  readonly socket = new SagTracker();
  readonly module = new SagTracker();
  readonly #both = [this.socket, this.module] as const;
  #forgotten = Number.NEGATIVE_INFINITY;

  get sagging(): boolean {
    return this.#both.some((s) => s.sagging);
  }

  /** Readings that come with a starter which was on before: a speed below `runAt`, or volts that the sag holds down. */
  starterOn(readings: readonly InstantReading[], runAt: number): boolean {
    const down = (volts: number): boolean =>
      this.#both.some(
        (s) => s.sagging && s.level !== null && volts < s.level - sagLimits.belowRest * supplyScale(s.level),
      );
    return readings.some(({ channel, value }) => {
      if (channel === "engine-speed") return value >= regimeLimits.turning && value < runAt;
      return (channel === socketVoltage || channel === "module-voltage") && down(value);
    });
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

  /** Since when every reading has been back near the level at rest, milliseconds; null while one is down. */
  get backSince(): number | null {
    const on = this.#both.filter((s) => s.sagging);
    return on.some((s) => s.backSince === null) ? null : Math.max(...on.map((s) => s.backSince ?? 0));
  }

  /** Last reading of either that was pulled down. */
  get lastLow(): number {
    return Math.max(this.socket.lastLow, this.module.lastLow);
  }

  /**
   * The stretch after this instant in which at least so many readings were pulled down, up to the last of them; `to`
   * is null while it lasts.
   */
  longest(after: number, least: number): { from: number; low: number; to: number | null } | null {
    // What was on when the engine started or stopped belongs to that.
    const since = Math.max(after, this.#forgotten);
    let best: { from: number; low: number; to: number | null } | null = null;
    for (const s of this.#both) {
      if (s.start === null || s.count < least || (s.end ?? Number.POSITIVE_INFINITY) <= since) continue;
      const from = Math.max(s.start, since);
      if (best === null || from < best.from) best = { from, low: s.lastLow, to: s.end };
    }
    return best;
  }

  /** The engine started or stopped: the levels of before say nothing any more. */
  forget(t: number): void {
    this.#forgotten = t;
    for (const s of this.#both) s.forget(t);
  }
}

function earliest(times: readonly (number | null)[]): number | null {
  const known = times.filter((t) => t !== null);
  return known.length === 0 ? null : Math.min(...known);
}
