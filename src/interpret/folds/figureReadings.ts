import type { Measured, Window } from "../report/schema.ts";
import { Tally } from "../maths/stats.ts";

const keptWindows = 5;
/** Readings further apart than this belong to different windows, milliseconds. */
const apartMs = 10_000;

/** Where readings of one kind were taken: the last few windows, and how long altogether. */
export class Windows {
  readonly #last: { from: number; to: number }[] = [];
  #seconds = 0;

  add(t: number): void {
    const open = this.#last.at(-1);
    if (open !== undefined && t >= open.to && t - open.to <= apartMs) {
      this.#seconds += (t - open.to) / 1000;
      open.to = t;
      return;
    }
    this.#last.push({ from: t, to: t });
    if (this.#last.length > keptWindows) this.#last.shift();
  }

  addWindow(window: Window): void {
    this.add(window.from);
    this.add(window.to);
  }

  /** Newest first. */
  get list(): Window[] {
    return this.#last.map((w) => ({ ...w })).reverse();
  }

  get seconds(): number {
    return this.#seconds;
  }
}

/** Readings of one figure: how often each value, where and at what rate. */
export class FigureReadings {
  readonly tally = new Tally();
  readonly #windows = new Windows();

  add(t: number, value: number): void {
    this.tally.add(value);
    this.#windows.add(t);
  }

  get n(): number {
    return this.tally.n;
  }

  get windows(): Window[] {
    return this.#windows.list;
  }

  get seconds(): number {
    return this.#windows.seconds;
  }

  /** Readings a second, or null. */
  get rate(): number | null {
    return this.#windows.seconds > 0 ? round(this.n / this.#windows.seconds, 3) : null;
  }

  measured(what: string, unit: string, value: number): Measured {
    return { value: round(value, 4), unit, what, samples: this.n, rate: this.rate };
  }
}

/** Rounded for reading: what lies below is noise of the arithmetic. */
export function round(value: number, digits: number): number {
  const scale = 10 ** digits;
  // Adding 0 turns -0 into 0, which JSON cannot tell apart.
  return Math.round(value * scale) / scale + 0;
}
