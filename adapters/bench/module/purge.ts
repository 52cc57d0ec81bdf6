import type { BenchVehicle } from "../vehicles.ts";

export interface PurgeInputs {
  readonly closedLoop: boolean;
  readonly coolantC: number;
  /** Foot off the pedal. */
  readonly released: boolean;
  /** Both trims of bank 1 together, as a share. */
  readonly trim: number;
}

/**
 * The purge valve's duty: shut until warm and in closed loop, little at idle, more with flow, and back as soon as the
 * trims say that the canister gives more than they should bear (common practice; the figures are invented).
 */
export class PurgeControl {
  /** 0 to 1, as parameter 2E tells it. */
  duty = 0;
  readonly #fullArea: number;

  constructor(vehicle: BenchVehicle) {
    this.#fullArea = vehicle.fuel === "petrol" ? 1.6e-6 * vehicle.displacementL : 0;
  }

  /** The valve's mean opening, m². */
  get area(): number {
    return this.duty * this.#fullArea;
  }

  step(dt: number, { closedLoop, coolantC, released, trim }: PurgeInputs): void {
    if (!closedLoop || coolantC < 60) {
      this.duty = 0;
      return;
    }
    const most = released ? 0.06 : 0.35;
    const way = trim < -0.04 ? -0.03 : 0.01;
    this.duty = Math.min(most, Math.max(0, this.duty + way * dt));
  }
}
