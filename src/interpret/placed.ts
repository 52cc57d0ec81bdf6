import type { ChannelStore } from "../../shared/channels.ts";
import type { Regime } from "../../shared/ranges.ts";
import { Followed, type InstantReading } from "./followed.ts";
import { StoreWalk } from "./merge.ts";
import type { RegimeFold } from "./regimes.ts";

/** All that was read at one time, with what the engine was doing then. Reused from one instant to the next. */
export interface Instant {
  readonly t: number;
  readonly regime: Regime;
  /** Where the regime began, milliseconds. */
  readonly since: number;
  /** Readings of the module that counts for each channel. */
  readonly readings: readonly InstantReading[];
  /** Value read at this instant, or undefined. */
  get(channel: string): number | undefined;
  /** Latest value not older than this many milliseconds, this instant included. */
  latest(channel: string, withinMs: number): number | undefined;
}

/** A part of the interpreter: takes instants in time order. */
export interface Topic {
  take(instant: Instant): void;
}

/** Hands each instant to the topics once its regime is settled. */
export class Placer implements Instant {
  readonly #walk: StoreWalk;
  readonly #fold: RegimeFold;
  readonly #owners = new Followed();
  readonly #latest = new Map<string, { t: number; value: number }>();
  #cut = 0;
  #pending: InstantReading[] = [];
  #late = 0;
  t = Number.NEGATIVE_INFINITY;
  regime: Regime = "silent";
  since = 0;
  readings: readonly InstantReading[] = [];

  constructor(store: ChannelStore, fold: RegimeFold) {
    this.#walk = new StoreWalk(store);
    this.#fold = fold;
  }

  /** Everything before `limit`, milliseconds; the walk never stops within an instant. */
  advance(limit: number, visit: (instant: Instant) => void): void {
    this.#walk.advance(limit, (channel, module, t, value) => {
      if (t !== this.t) {
        this.#flush(visit);
        if (t < this.t) {
          this.#late += 1;
          return;
        }
        this.t = t;
      }
      this.#pending.push({ channel, module, value });
    });
    this.#flush(visit);
  }

  /** Readings that came with a time before one already taken. */
  get late(): number {
    return this.#late;
  }

  get(channel: string): number | undefined {
    for (const r of this.readings) if (r.channel === channel && !Number.isNaN(r.value)) return r.value;
    return undefined;
  }

  latest(channel: string, withinMs: number): number | undefined {
    const last = this.#latest.get(channel);
    return last === undefined || this.t - last.t > withinMs ? undefined : last.value;
  }

  #flush(visit: (instant: Instant) => void): void {
    const pending = this.#pending;
    if (pending.length === 0) return;
    this.#pending = [];
    this.readings = pending.filter(
      (r) => Number.isNaN(r.value) || this.#owners.owns(r.channel, r.module, pending),
    );
    for (const r of this.readings)
      if (!Number.isNaN(r.value)) this.#latest.set(r.channel, { t: this.t, value: r.value });
    const place = this.#fold.placeOf(this.t, this.#cut);
    this.#cut = place.index;
    this.regime = place.regime;
    this.since = place.from;
    visit(this);
  }
}
