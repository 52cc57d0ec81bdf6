import type { Clock } from "../../../../shared/clock.ts";

/** So long others wait for a piece of the work. */
const pieceMs = 8;

/** Work in pieces, between which others have their turn, and how long it took without them. */
export class WorkPieces {
  readonly #clock: Clock;
  readonly #rest: () => Promise<void>;
  #spent = 0;
  #from: number;

  constructor({ clock, rest }: { readonly clock: Clock; readonly rest: () => Promise<void> }) {
    this.#clock = clock;
    this.#rest = rest;
    this.#from = clock.now();
  }

  /** Between two steps: rests once a piece is long enough. */
  async next(): Promise<void> {
    const took = this.#clock.now() - this.#from;
    if (took < pieceMs) return;
    this.#spent += took;
    await this.#rest();
    this.#from = this.#clock.now();
  }

  /** Milliseconds of work so far, rests left out. */
  get spent(): number {
    return this.#spent + this.#clock.now() - this.#from;
  }
}
