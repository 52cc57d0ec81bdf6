import { fasterRates, type FasterRate } from "../dialogue/index.ts";

/** What is known of the faster rates of one port, from one session to the next. */
export class RateMemory {
  readonly #failed = new Set<number>();
  #proven: number | null = null;

  get proven(): number | null {
    return this.#proven;
  }

  prove(baud: number): void {
    this.#proven = baud;
  }

  /** Refused, or not understood: not tried again. */
  fail(baud: number): void {
    this.#failed.add(baud);
    if (this.#proven === baud) this.#proven = null;
  }

  /** Worth asking for above the present rate, the fastest first; only the proven one where there is one. */
  candidates(above: number): readonly FasterRate[] {
    const left = fasterRates.filter(({ baud }) => baud > above && !this.#failed.has(baud));
    const proven = left.filter(({ baud }) => baud === this.#proven);
    return proven.length > 0 ? proven : left;
  }
}
