/** Volts at which the sensor counts as rich, and as lean again: 0.45 with a little play (service manuals). */
export const richAbove = 0.48;
export const leanBelow = 0.42;

/**
 * Closed-loop correction of one bank: a short trim that swings with the sensor's switching, and a long trim
 * kept by zone that the short one's mean is moved into (common practice).
 */
export class Trims {
  /** Shares: 0.05 adds five per cent of fuel. */
  short = 0;
  readonly long: Float64Array;
  zone = 0;
  #integral = 0;
  #rich = false;
  readonly #limit: number;

  constructor(zones: number, limitPercent: number) {
    this.long = new Float64Array(zones);
    this.#limit = limitPercent / 100;
  }

  get longNow(): number {
    return this.long[this.zone] ?? 0;
  }

  get factor(): number {
    return (1 + this.short) * (1 + this.longNow);
  }

  closed(dt: number, sensorVolts: number, rpm: number, learn: boolean): void {
    if (sensorVolts > richAbove) this.#rich = true;
    else if (sensorVolts < leanBelow) this.#rich = false;
    const way = this.#rich ? -1 : 1;
    const rate = 0.016 + 0.024 * Math.min(1.5, rpm / 2000);
    // Both together may not add or take more than a fifth beyond the limit of one.
    const long = this.longNow;
    const high = Math.min(this.#limit, 1.2 * this.#limit - long);
    const low = Math.max(-this.#limit, -1.2 * this.#limit - long);
    this.#integral = Math.min(high, Math.max(low, this.#integral + way * rate * dt));
    this.short = Math.min(high, Math.max(low, this.#integral + way * 0.011));
    if (!learn) return;
    const learned = long + this.#integral * dt * 0.055;
    this.long[this.zone] = Math.min(this.#limit, Math.max(-this.#limit, learned));
  }

  /** What was learned is lost. */
  forget(): void {
    this.long.fill(0);
    this.open();
  }

  open(): void {
    this.#integral = 0;
    this.short = 0;
  }
}
