import { socketVoltage } from "../../../shared/decode.ts";
import type { InstantReading } from "./followed.ts";
import { regimeLimits } from "./regimeLimits.ts";

/** Watches when any module last answered. The adapter's own voltage is no answer. */
export class AnswerWatch {
  #last: number | null = null;
  #firstUnanswered: number | null = null;
  #meanInterval = 500;

  /** Last instant with an answer, milliseconds, or null. */
  get last(): number | null {
    return this.#last;
  }

  /** Where a silence that is known at `t` began, or null while answers come as usual. */
  quietFrom(t: number): number | null {
    if (this.#last === null) return null;
    const usual = this.#meanInterval * regimeLimits.silentIntervals;
    const limit = Math.min(regimeLimits.silentMostMs, Math.max(regimeLimits.silentLeastMs, usual));
    if (t - this.#last <= limit) return null;
    return Math.min(t, this.#firstUnanswered ?? this.#last + this.#meanInterval);
  }

  /** Returns true when something in this instant is an answer. */
  take(t: number, readings: readonly InstantReading[], quiet: boolean): boolean {
    let answered = false;
    let unanswered = false;
    for (const r of readings) {
      if (Number.isNaN(r.value)) unanswered = true;
      else if (r.channel !== socketVoltage) answered = true;
    }
    if (!answered) {
      if (unanswered) this.#firstUnanswered ??= t;
      return false;
    }
    if (this.#last !== null && !quiet) this.#meanInterval += (t - this.#last - this.#meanInterval) / 16;
    this.#last = t;
    this.#firstUnanswered = null;
    return true;
  }
}
