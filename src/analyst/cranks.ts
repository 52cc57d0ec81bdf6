import type { VehicleRanges } from "../interpret/index.ts";
import { LiveCranks, type LiveCrank } from "../interpret/crank/live.ts";
import { liveOptionsOf } from "../interpret/crank/liveOf.ts";
import { StoreWalk } from "../interpret/folds/merge.ts";
import type { Reading } from "../reading/index.ts";

/** What is told of the present crank or the last one, as of a time of the recording, milliseconds. */
export interface ToldCrank {
  readonly crank: LiveCrank;
  readonly past: readonly LiveCrank[];
  readonly now: number;
}

/** The live verdict of a recording that grows: each reading is taken once, as its line comes. */
export class Cranks {
  readonly #reading: Reading;
  readonly #ranges: () => VehicleRanges;
  #options = "";
  #live = new LiveCranks({ slowBelow: 140, runAt: 450, leastVolts: null });
  #walk: StoreWalk;

  constructor(reading: Reading, ranges: () => VehicleRanges) {
    this.#reading = reading;
    this.#ranges = ranges;
    this.#walk = new StoreWalk(reading.channels);
  }

  /** `now`: the recording's time. Null before the first crank. */
  told(now: number): ToldCrank | null {
    const options = liveOptionsOf(this.#reading, this.#ranges());
    // Facts that are corrected, or a fuel that is told late, change what it is judged by: from the beginning.
    const key = JSON.stringify(options);
    if (key !== this.#options) {
      this.#options = key;
      this.#live = new LiveCranks(options);
      this.#walk = new StoreWalk(this.#reading.channels);
    }
    const live = this.#live;
    this.#walk.advance(Number.POSITIVE_INFINITY, (channel, module, t, value) => {
      live.take(channel, module, t, value);
    });
    const crank = live.tell(now);
    return crank === null ? null : { crank, past: live.past, now };
  }
}
