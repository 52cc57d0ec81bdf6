import type { BenchVehicle } from "../vehicles.ts";

export interface IdleInputs {
  /** Seconds since the engine ran by itself, negative before that. */
  readonly sinceStart: number;
  readonly rpm: number;
  readonly coolantC: number;
  /** Foot off the pedal. */
  readonly released: boolean;
  /** The accessory runs. */
  readonly loaded: boolean;
  /** The car rolls: speed is the road's, not the idle control's. */
  readonly rolling: boolean;
}

/** Idle air and idle speed: a feed-forward from temperature, a slow correction, and extra air after the start. */
export class IdleControl {
  targetRpm: number;
  /** Air through idle valve or idle position of the plate, m². */
  area: number;
  #correction = 0;
  #extra = 0;
  #releasedS = 0;
  /** Accessory load as the air follows it, 0 to 1. */
  #load = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle) {
    this.#vehicle = vehicle;
    this.targetRpm = vehicle.idleRpm;
    this.area = vehicle.idleAreaMin;
  }

  step(dt: number, inputs: IdleInputs): void {
    const { sinceStart, rpm, coolantC, released, loaded, rolling } = inputs;
    const v = this.#vehicle;
    const cold = Math.min(1, Math.max(0, (62 - coolantC) / 62));
    this.#load += ((loaded ? 1 : 0) - this.#load) * Math.min(1, dt / 0.35);
    const warmIdle = v.idleRpm + (v.idleLoadedRpm - v.idleRpm) * this.#load;
    const raise = v.fuel === "diesel" ? 260 : 650;
    this.targetRpm = Math.max(warmIdle, v.idleRpm + raise * cold ** 1.15);
    const unit = 4.1e-6 * v.displacementL;
    if (sinceStart < 0) {
      this.#extra = unit * (1.05 + 0.5 * cold);
      this.#correction = 0;
      this.area = Math.min(v.idleAreaMax, Math.max(v.idleAreaMin, unit * (2.1 + 0.5 * cold)));
      return;
    }
    this.#extra *= 1 - dt / 1.1;
    // Held open a little as the foot comes off, so that speed falls softly.
    if (!released) {
      const above = Math.min(1.5, Math.max(0, (rpm - this.targetRpm) / 700));
      this.#extra = Math.max(this.#extra, unit * above);
    }
    const error = this.targetRpm - rpm;
    this.#releasedS = released && !rolling ? this.#releasedS + dt : 0;
    if (this.#releasedS > 0 && sinceStart > 1.5 && (error > -500 || this.#releasedS > 4)) {
      this.#correction += error * dt * unit * 1.4e-3;
      this.#correction = Math.min(4 * unit, Math.max(-1.2 * unit, this.#correction));
    }
    const fast = released && sinceStart > 0.5 ? Math.max(rolling ? 0 : -1e4, error) * unit * 7e-4 : 0;
    const base = unit * (1 + 1.9 * cold + 0.45 * this.#load);
    const wanted = base + this.#extra + this.#correction + Math.max(-0.5 * unit, Math.min(unit, fast));
    this.area = Math.min(v.idleAreaMax, Math.max(v.idleAreaMin, wanted));
  }
}
