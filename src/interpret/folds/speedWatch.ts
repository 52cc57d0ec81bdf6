import { regimeLimits } from "./regimeLimits.ts";

export type Category = "zero" | "crank" | "run";

/** Readings of speed in a row that say the same. */
export interface Pending {
  readonly category: Category;
  readonly from: number;
  count: number;
}

/** What the engine's speed says, before a regime is made of it. */
export class SpeedWatch {
  readonly #runAt: number;
  #pending: Pending | null = null;
  #before: Pending | null = null;
  #asked = false;
  #lastNone = Number.NEGATIVE_INFINITY;
  #lastUnanswered = Number.NEGATIVE_INFINITY;

  /** `runAt`: from this speed on it runs by itself, rpm. */
  constructor(runAt: number) {
    this.#runAt = runAt;
  }

  get pending(): Pending | null {
    return this.#pending;
  }

  /** What was said before `pending`. */
  get before(): Pending | null {
    return this.#before;
  }

  /** Speed was asked at all. */
  get asked(): boolean {
    return this.#asked;
  }

  /** Last instant at which speed was asked and was zero or not answered. */
  get lastNone(): number {
    return this.#lastNone;
  }

  get lastUnanswered(): number {
    return this.#lastUnanswered;
  }

  unanswered(t: number): void {
    this.#lastNone = this.#lastUnanswered = t;
  }

  noteAsked(): void {
    this.#asked = true;
  }

  take(t: number, speed: number): void {
    if (speed < regimeLimits.turning) this.#lastNone = t;
    const category: Category = speed < regimeLimits.turning ? "zero" : speed < this.#runAt ? "crank" : "run";
    if (this.#pending?.category === category) {
      this.#pending.count += 1;
      return;
    }
    this.#before = this.#pending;
    this.#pending = { category, from: t, count: 1 };
  }

  forget(): void {
    this.#pending = null;
    this.#before = null;
  }

  /** The last readings are in this category, two at least, and since so many milliseconds. */
  holds(category: Category, t: number, ms: number): boolean {
    const pending = this.#pending;
    return pending?.category === category && pending.count >= 2 && t - pending.from >= ms;
  }
}
