import type { VehicleRanges } from "../interpret/index.ts";
import { LiveCranks, type LiveCrank } from "../interpret/crank/live.ts";
import { liveOptionsOf } from "../interpret/crank/liveOf.ts";
import { StoreWalk } from "../interpret/folds/merge.ts";
import type { Source } from "../interpret/folds/source.ts";

/** What is told of the present crank or the last one, as of a time of the recording, milliseconds. */
export interface ToldCrank {
  readonly crank: LiveCrank;
  readonly past: readonly LiveCrank[];
  readonly now: number;
}

/**
 * The live verdict of a recording: of one that grows, each reading is taken once, as its line comes; of a whole one, what was
 * told at any moment of it.
 */
export class Cranks {
  readonly #source: Source;
  readonly #ranges: () => VehicleRanges;
  #options = "";
  #live = new LiveCranks({ slowBelow: 140, runAt: 450, leastVolts: null });
  #walk: StoreWalk;
  /** Readings before this were taken, milliseconds. */
  #taken = Number.NEGATIVE_INFINITY;

  constructor(source: Source, ranges: () => VehicleRanges) {
    this.#source = source;
    this.#ranges = ranges;
    this.#walk = new StoreWalk(source.channels);
  }

  /** `now`: the recording's time. Null before the first crank. */
  told(now: number): ToldCrank | null {
    return this.#told(now, Number.POSITIVE_INFINITY);
  }

  /** As it was told live at `t`, by what is known of the vehicle today. Forward each reading is taken once. */
  toldAt(t: number): ToldCrank | null {
    // A walk takes what lies before its limit: the readings of this very moment were heard.
    return this.#told(t, t + 1e-6);
  }

  #told(now: number, limit: number): ToldCrank | null {
    const options = liveOptionsOf(this.#source, this.#ranges());
    // Facts that are corrected, or a fuel that is told late, change what it is judged by: from the beginning.
    const key = JSON.stringify(options);
    if (key !== this.#options || limit < this.#taken) {
      this.#options = key;
      this.#live = new LiveCranks(options);
      this.#walk = new StoreWalk(this.#source.channels);
    }
    this.#taken = limit;
    const live = this.#live;
    this.#walk.advance(limit, (channel, module, t, value) => {
      live.take(channel, module, t, value);
    });
    const crank = live.tell(now);
    return crank === null ? null : { crank, past: live.past, now };
  }
}

/** So long behind its end a crank of a whole recording is still what is told, milliseconds. */
const behindMs = 10_000;

/** What stood on the page at `t`, while it was the crank that was told; null else. */
export function replayedCrank(cranks: Cranks, t: number): ToldCrank | null {
  const told = cranks.toldAt(t);
  if (told === null) return null;
  const { from, crankedS, to, provisional } = told.crank;
  const end = provisional ? t : (to ?? from + 1000 * crankedS);
  return t >= from && t - end <= behindMs ? told : null;
}
