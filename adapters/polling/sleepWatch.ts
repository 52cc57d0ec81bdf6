import type { Clock } from "../../shared/clock.ts";

/** A timer runs this often while the machine is awake. */
const beatMs = 1000;
/** A timer that is late by this much was late because the machine slept, not because it was busy. */
const sleptMs = 5000;

/** Sees by a timer that comes late that the machine slept. The clock goes on meanwhile. */
export class SleepWatch {
  readonly #clock: Clock;
  readonly #onSlept: (forMs: number, sinceMs: number) => void;
  #cancel: (() => void) | null = null;

  /** `sinceMs` is the clock's time at which the machine was awake for the last time, give or take a second. */
  constructor(clock: Clock, onSlept: (forMs: number, sinceMs: number) => void) {
    this.#clock = clock;
    this.#onSlept = onSlept;
  }

  start(): void {
    const due = this.#clock.now() + beatMs;
    this.#cancel = this.#clock.after(beatMs, () => {
      this.start();
      const late = this.#clock.now() - due;
      if (late >= sleptMs) this.#onSlept(late, due);
    });
  }

  stop(): void {
    this.#cancel?.();
    this.#cancel = null;
  }
}

/** "slept for 10 min", "slept for 40 s". */
export function sleptWords(ms: number): string {
  return ms < 90_000 ? `slept for ${Math.round(ms / 1000)} s` : `slept for ${Math.round(ms / 60_000)} min`;
}
