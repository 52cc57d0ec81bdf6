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

  closed(dt: number, sensorVolts: number, rpm: number): void {
    if (sensorVolts > 0.48) this.#rich = true;
    else if (sensorVolts < 0.42) this.#rich = false;
    const way = this.#rich ? -1 : 1;
    const rate = 0.016 + 0.024 * Math.min(1.5, rpm / 2000);
    this.#integral = clamp(this.#integral + way * rate * dt, this.#limit);
    this.short = clamp(this.#integral + way * 0.011, this.#limit);
    const long = this.longNow;
    this.long[this.zone] = clamp(long + this.#integral * dt * 0.055, this.#limit);
  }

  open(): void {
    this.#integral = 0;
    this.short = 0;
  }
}

function clamp(value: number, limit: number): number {
  return Math.min(limit, Math.max(-limit, value));
}
