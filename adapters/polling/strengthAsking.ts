/**
 * What is asked while the strength of the cylinders is captured: the voltage as fast as the line carries it, with a speed
 * now and then to count the turns by, and nothing else. How many voltages stand between two speeds is drawn by a seed, so
 * that the readings never run in step with the firing.
 */
import { seeded } from "../../shared/seeded.ts";

/**
 * Voltages between two speeds, at least. On a K-line a speed costs a tenth of a second and more, and the voltage, which the
 * adapter reads itself, a fraction of that; elsewhere they cost about the same.
 */
const between = { slow: 3, fast: 1 } as const;

export class StrengthAsking {
  readonly #random = seeded(20_261_130);
  #left = 0;

  /** `slow`: the bus has to be left alone after each reply. */
  next(slow: boolean): "volts" | "speed" {
    if (this.#left > 0) {
      this.#left -= 1;
      return "volts";
    }
    this.#left = (slow ? between.slow : between.fast) + Math.floor(2 * this.#random());
    return "speed";
  }
}
