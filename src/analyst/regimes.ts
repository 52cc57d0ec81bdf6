import type { VehicleFacts } from "../../shared/vehicle.ts";
import { StoreWalk } from "../interpret/folds/merge.ts";
import { RegimeFold, type RegimeSpan } from "../interpret/folds/regimes.ts";
import type { Reading } from "../reading/index.ts";

/** Regimes of a recording that grows: each reading is taken once, so that an hour costs no more than a second. */
export class Regimes {
  readonly #reading: Reading;
  readonly #facts: () => VehicleFacts;
  #idleRpm: number | undefined;
  #fold: RegimeFold;
  #walk: StoreWalk;

  /** `facts`: those of the vehicle that it is read by, where they are others than the recording's own. */
  constructor(reading: Reading, facts: () => VehicleFacts = () => reading.facts.vehicle ?? {}) {
    this.#reading = reading;
    this.#facts = facts;
    this.#fold = new RegimeFold();
    this.#walk = new StoreWalk(reading.channels);
  }

  /** Spans up to the last reading, which may be followed by others at its very time. */
  growing(): RegimeSpan[] {
    this.follow();
    return this.#fold.spans(this.#reading.lastTime);
  }

  /** Takes what came, without telling its spans yet. */
  follow(): void {
    this.#minded();
    this.#advance(this.#reading.lastTime);
  }

  /** Spans of a recording that is all there; nothing is expected to follow. */
  whole(): RegimeSpan[] {
    this.#minded();
    this.#advance(Number.POSITIVE_INFINITY);
    this.#fold.finish();
    return this.#fold.spans(this.#reading.lastTime);
  }

  #advance(limit: number): void {
    this.#walk.advance(limit, (channel, module, t, value) => this.#fold.take(channel, module, t, value));
  }

  /** The idle speed that a person states shifts the limits, from the beginning on. */
  #minded(): void {
    if (this.#facts().idleRpm !== this.#idleRpm) this.#anew();
  }

  #anew(): void {
    this.#idleRpm = this.#facts().idleRpm;
    this.#fold = new RegimeFold({ idleRpm: this.#idleRpm });
    this.#walk = new StoreWalk(this.#reading.channels);
  }
}
