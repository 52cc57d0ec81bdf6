import type { Clock } from "../../shared/clock.ts";

/** Readings a second by channel, over the last stretch of time. */
export class Rates {
  readonly #clock: Clock;
  readonly #everyMs: number;
  /** Readings by channel since the last call. */
  readonly #takeCounts: () => ReadonlyMap<string, number>;
  #sinceMs = 0;
  #last: ReadonlyMap<string, number> = new Map();

  constructor(clock: Clock, everyMs: number, takeCounts: () => ReadonlyMap<string, number>) {
    this.#clock = clock;
    this.#everyMs = everyMs;
    this.#takeCounts = takeCounts;
  }

  get last(): ReadonlyMap<string, number> {
    return this.#last;
  }

  begin(): void {
    this.#sinceMs = this.#clock.now();
    this.#takeCounts();
    this.#last = new Map();
  }

  /** True when there are new rates to tell. */
  due(): boolean {
    const now = this.#clock.now();
    const since = now - this.#sinceMs;
    if (since < this.#everyMs) return false;
    this.#sinceMs = now;
    this.#last = new Map([...this.#takeCounts()].map(([name, count]) => [name, (count * 1000) / since]));
    return true;
  }
}
