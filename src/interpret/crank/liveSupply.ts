/**
 * The supply as it is followed live: where it sags under a starter, and the step up when the starter is let go. A start
 * is the rule of shared/supply.ts; the end is told by the step, within a second, for a verdict must not wait.
 */
import { socketVoltage } from "../../../shared/decode.ts";
import { firstSupply, foldSupply, supplyScale, type SupplyState } from "../../../shared/supply.ts";
import { mean, quantile } from "../maths/stats.ts";

export const stepLimits = {
  /** The inrush is not what the supply holds, milliseconds. */
  inrushMs: 300,
  /** Back by this share of the way from what it held to rest, with no reading down for so long, milliseconds. */
  backShare: 0.55,
  backMs: 250,
  /** Closer to rest than this is back in any case, volts of a 12 V system. */
  nearRest: 0.3,
  /** A reading older than this leaves the word to the other voltage, milliseconds. */
  staleMs: 3000,
  /** The step is held against what was read in the last so long of turning, milliseconds, and so many readings of it. */
  recentMs: 2000,
  leastRecent: 3,
  /** It stands out of the ripple by this, volts of a 12 V system. */
  overRipple: 0.1,
  mostHeld: 4000,
} as const;

interface Held {
  readonly t: number;
  readonly volts: number;
}

export class LiveSupply {
  #state: SupplyState = firstSupply;
  #channel: string | null = null;
  #since: number | null = null;
  /** The last reading at rest before it: the sag began after that. */
  #restAt: number | null = null;
  #backSince: number | null = null;
  #backs = 0;
  #held: Held[] = [];
  /** Read as back so far: under the starter after all, if it falls again. */
  #doubtful: Held[] = [];
  #lowest: number | null = null;
  #rest: number | null = null;
  #now: { t: number; volts: number } | null = null;
  #count = 0;

  /** Since when a starter draws, or drew last; null when it does not. */
  get since(): number | null {
    return this.#since;
  }

  /** Not before this did it begin, milliseconds: voltage is read now and then only. */
  get notBefore(): number | null {
    return this.#since === null ? null : (this.#restAt ?? this.#since);
  }

  get sagging(): boolean {
    return this.#since !== null && this.#backSince === null;
  }

  /** Since when it is back; null while it sags or never did. */
  get backSince(): number | null {
    return this.#backSince;
  }

  /** Low readings of this sag. */
  get count(): number {
    return this.#count;
  }

  get rest(): number | null {
    return this.#rest ?? this.#state.restVolts;
  }

  get now(): number | null {
    return this.#now?.volts ?? null;
  }

  get lowest(): number | null {
    return this.#lowest;
  }

  /** Volts under the starter, behind the inrush. */
  get held(): readonly number[] {
    return this.#held.map((h) => h.volts);
  }

  /** The mean of what was held from one time to another, milliseconds; null with fewer than two readings. */
  meanHeld(from: number, to: number): number | null {
    const volts = this.#held.filter((h) => h.t >= from && h.t < to).map((h) => h.volts);
    return volts.length < 2 ? null : mean(volts);
  }

  /** It came back and stayed there. */
  isBack(now: number): boolean {
    return this.#backSince !== null && this.#backs >= 2 && now - this.#backSince >= stepLimits.backMs;
  }

  /** The attempt is over: what it held stays to be read until the next sag. */
  ended(): void {
    this.#since = null;
    this.#backSince = null;
    this.#backs = 0;
    this.#state = { ...this.#state, sagSinceMs: null };
  }

  /** One voltage is followed; the adapter's own goes before the module's, which may go dark with it. */
  take(channel: string, t: number, volts: number, running: boolean): "sag" | null {
    if (!this.#follows(channel, t)) return null;
    this.#now = { t, volts };
    if (this.#since !== null) {
      this.#during(t, volts);
      return null;
    }
    const before = this.#state.restVolts;
    this.#state = foldSupply(this.#state, t, volts);
    if (this.#state.sagSinceMs === null || running) {
      this.#restAt = t;
      return null;
    }
    this.#since = this.#state.sagSinceMs;
    this.#rest = before;
    this.#backSince = null;
    this.#backs = 0;
    this.#held = [];
    this.#doubtful.length = 0;
    this.#lowest = volts;
    this.#count = 1;
    return "sag";
  }

  #follows(channel: string, t: number): boolean {
    if (this.#channel === channel) return true;
    const stale = this.#now === null || t - this.#now.t > stepLimits.staleMs;
    // Another meter has another rest: a sag that is on is not judged by it.
    if (!stale && (channel !== socketVoltage || this.#since !== null)) return false;
    this.#channel = channel;
    if (this.#since === null) this.#state = firstSupply;
    return true;
  }

  #during(t: number, volts: number): void {
    if (volts >= this.#backFrom(t)) {
      this.#backSince ??= t;
      this.#backs += 1;
      this.#doubtful.push({ t, volts });
      return;
    }
    this.#backSince = null;
    this.#backs = 0;
    for (const h of this.#doubtful) this.#hold(h);
    this.#doubtful.length = 0;
    this.#count += 1;
    this.#lowest = Math.min(this.#lowest ?? volts, volts);
    this.#hold({ t, volts });
  }

  #hold(held: Held): void {
    const late = held.t - (this.#since ?? held.t) >= stepLimits.inrushMs;
    if (late && this.#held.length < stepLimits.mostHeld) this.#held.push(held);
  }

  /** From here on it is back, volts: near rest, or a step out of what a turning starter reads. */
  #backFrom(t: number): number {
    const rest = this.#rest ?? 0;
    const scale = supplyScale(rest);
    const near = rest - stepLimits.nearRest * scale;
    const recent = this.#held.filter((h) => h.t >= t - stepLimits.recentMs).map((h) => h.volts);
    if (recent.length < stepLimits.leastRecent) return near;
    const level = mean(recent);
    const step = level + stepLimits.backShare * (rest - level);
    return Math.min(near, Math.max(step, quantile(recent, 0.9) + stepLimits.overRipple * scale));
  }
}
