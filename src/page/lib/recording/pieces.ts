import { pause, type Clock } from "../../../../shared/clock.ts";

/** So long the screen may wait for a piece of the work, milliseconds. */
const pieceMs = 8;

/** Work done in pieces between frames, and how long it took. */
export class Pieces {
  readonly #clock: Clock;
  #from: number;
  #done = 0;

  constructor(clock: Clock) {
    this.#clock = clock;
    this.#from = clock.now();
  }

  /** The screen is due for its turn. */
  get full(): boolean {
    return this.#clock.now() - this.#from >= pieceMs;
  }

  /** Milliseconds of work so far, pauses left out. */
  get spent(): number {
    return this.#done + (this.#clock.now() - this.#from);
  }

  /** Lets the screen have its turn. */
  async rest(): Promise<void> {
    this.#done = this.spent;
    await pause(this.#clock, 0);
    this.#from = this.#clock.now();
  }
}
