import type { BenchVehicle } from "../vehicles.ts";

/** Revolutions of the two windows of the regulation (13 CCR 1968.2(e)(3), from memory). */
const shortWindow = 200;
const longWindow = 1000;

/** What the counters say at the end of a window: misfires by cylinder number from 0, and firings in all. */
export interface MisfireWindow {
  readonly counts: readonly number[];
  readonly firings: number;
  readonly kind: "short" | "long";
}

/**
 * Misfires as a module finds them: from what the crankshaft does. Over the power stroke of a cylinder the
 * shaft's energy changes; a stroke that gives much less than its neighbours did not burn. It sees the crank only.
 */
export class MisfireWatch {
  /** By cylinder number from 0: this driving cycle, and the mean over the last ones (0.1 new + 0.9 old). */
  readonly counts: Float64Array;
  readonly averages: Float64Array;
  #lastSquare = 0;
  #before = 0;
  #middle = 0;
  #settle = 0;
  #mean = 0;
  #strokes = 0;
  readonly #short: Float64Array;
  readonly #long: Float64Array;
  readonly #n: number;
  readonly #order: readonly number[];
  readonly #inertia: number;

  constructor(vehicle: BenchVehicle) {
    this.#n = vehicle.firingOrder.length;
    this.#order = vehicle.firingOrder;
    this.#inertia = vehicle.inertia;
    const each = (): Float64Array => new Float64Array(this.#n);
    this.counts = each();
    this.averages = each();
    this.#short = each();
    this.#long = each();
  }

  /**
   * At every firing dead centre: speed rad/s, and the work a burn should give, J. Judges the cylinder that fired
   * two strokes ago. `on` is false where the regulation lets the monitor rest (just started, cut, no signal).
   */
  deadCentre(position: number, omega: number, expectedJ: number, on: boolean): MisfireWindow[] {
    const square = omega * omega;
    const gain = 0.5 * this.#inertia * (square - this.#lastSquare);
    this.#lastSquare = square;
    const [before, middle] = [this.#before, this.#middle];
    this.#before = middle;
    this.#middle = gain;
    if (!on) {
      this.#mean = 0;
      this.#settle = 2 * this.#n;
      return [];
    }
    this.#mean += (gain - this.#mean) / (4 * this.#n);
    this.#settle -= 1;
    if (this.#settle > 0) return [];
    // Judged one stroke late: it must be low against the mean and against both neighbours, which a car that
    // slows down as a whole is not.
    const dip = middle - (before + gain) / 2;
    const fell = middle - this.#mean < -0.6 * expectedJ && dip < -0.4 * expectedJ;
    this.#strokes += 1;
    if (fell) {
      const cylinder = (this.#order[(position + 2 * this.#n - 2) % this.#n] ?? 1) - 1;
      for (const list of [this.counts, this.#short, this.#long]) list[cylinder] = (list[cylinder] ?? 0) + 1;
    }
    return this.#windows();
  }

  #windows(): MisfireWindow[] {
    const done: MisfireWindow[] = [];
    const each = this.#n / 2;
    if (this.#strokes % (shortWindow * each) === 0) {
      done.push({ counts: [...this.#short], firings: shortWindow * each, kind: "short" });
      this.#short.fill(0);
    }
    if (this.#strokes % (longWindow * each) === 0) {
      done.push({ counts: [...this.#long], firings: longWindow * each, kind: "long" });
      this.#long.fill(0);
    }
    return done;
  }

  /** A driving cycle ends: the means take the counts in. */
  endCycle(): void {
    this.counts.forEach((count, i) => {
      this.averages[i] = 0.1 * count + 0.9 * (this.averages[i] ?? 0);
    });
  }

  beginCycle(): void {
    this.counts.fill(0);
    this.#short.fill(0);
    this.#long.fill(0);
    this.#strokes = 0;
  }
}
