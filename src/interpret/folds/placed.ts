import { regimeGroup, type Regime } from "../../../shared/ranges.ts";
import { ownerOf, type InstantReading } from "./followed.ts";
import type { RegimeFold } from "./regimes.ts";
import { runs } from "./running.ts";

/** All that was read at one time, with what the engine was doing then. Reused from one instant to the next. */
export interface Instant {
  readonly t: number;
  readonly regime: Regime;
  /** Where the regime began, milliseconds. */
  readonly since: number;
  /** The engine runs by itself. */
  readonly running: boolean;
  /** It idles, cold, warm or not known which. */
  readonly idling: boolean;
  /** Readings of the module that counts for each channel. */
  readonly readings: readonly InstantReading[];
  /** Value read at this instant, or undefined. */
  get(channel: string): number | undefined;
  /** Latest value not older than this many milliseconds, this instant included. */
  latest(channel: string, withinMs: number): number | undefined;
}

const none: readonly InstantReading[] = [];
/** Handed-on instants are swept out of the waiting ones when there are so many. */
const sweepFrom = 4096;

/** A part of the interpreter: takes instants in time order. */
export interface Topic {
  take(instant: Instant): void;
}

/** Keeps whole instants until their regime is settled, then hands them to the topics. */
export class Placer implements Instant {
  /** The latest reading of each channel, by the module that counts for it. */
  readonly #latest = new Map<string, { readonly module: string; t: number; value: number }>();
  readonly #times: number[] = [];
  readonly #waiting: InstantReading[][] = [];
  #head = 0;
  #cut = 0;
  t = Number.NEGATIVE_INFINITY;
  regime: Regime = "silent";
  since = 0;
  running = false;
  idling = false;
  readings: readonly InstantReading[] = none;

  /** The next instant, in order of time. */
  push(t: number, readings: InstantReading[]): void {
    this.#times.push(t);
    this.#waiting.push(readings);
  }

  /** Hands on every instant before `limit`, milliseconds; the fold must have settled up to there. */
  advance(limit: number, fold: RegimeFold, visit: (instant: Instant) => void): void {
    for (; this.#head < this.#times.length; this.#head++) {
      const t = this.#times[this.#head] ?? limit;
      if (t >= limit) break;
      const readings = this.#waiting[this.#head] ?? [];
      this.#place(t, readings, fold);
      visit(this);
      this.readings = none;
      fold.spare.handBack(readings);
    }
    if (this.#head < sweepFrom) return;
    this.#times.splice(0, this.#head);
    this.#waiting.splice(0, this.#head);
    this.#head = 0;
  }

  get(channel: string): number | undefined {
    for (const r of this.readings) if (r.channel === channel && !Number.isNaN(r.value)) return r.value;
    return undefined;
  }

  latest(channel: string, withinMs: number): number | undefined {
    const last = this.#latest.get(channel);
    return last === undefined || this.t - last.t > withinMs ? undefined : last.value;
  }

  #place(t: number, all: readonly InstantReading[], fold: RegimeFold): void {
    this.t = t;
    let others = false;
    for (const r of all) {
      if (Number.isNaN(r.value)) continue;
      let last = this.#latest.get(r.channel);
      if (last === undefined) {
        last = { module: ownerOf(r.channel, r.module, all), t, value: r.value };
        this.#latest.set(r.channel, last);
      }
      if (last.module === r.module) {
        last.t = t;
        last.value = r.value;
      } else others = true;
    }
    this.readings = others
      ? all.filter((r) => Number.isNaN(r.value) || this.#latest.get(r.channel)?.module === r.module)
      : all;
    const place = fold.placeOf(t, this.#cut);
    this.#cut = place.index;
    this.since = place.from;
    if (place.regime === this.regime) return;
    this.regime = place.regime;
    this.running = runs(place.regime);
    this.idling = (regimeGroup[place.regime] ?? place.regime) === "idle";
  }
}
