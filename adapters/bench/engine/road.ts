import type { BenchVehicle } from "../vehicles.ts";

/**
 * The rest of the car when a gear is in: a fluid coupling, a gearbox that shifts by itself, mass and road load.
 * Coupling torque goes with the square of speed (similarity law of hydrodynamic couplings); road load is rolling
 * and air drag (common practice).
 */
export class Road {
  /** Metres a second; gear 0 is neutral. */
  speed = 0;
  gear = 0;
  brake = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle) {
    this.#vehicle = vehicle;
  }

  get kmh(): number {
    return this.speed * 3.6;
  }

  /** One step; returns the torque the gearbox takes from the crankshaft, N·m. */
  step(dt: number, omega: number): number {
    if (this.gear === 0 && this.speed === 0) return 0;
    const v = this.#vehicle;
    const ratio = this.gear === 0 ? 0 : (v.gears[this.gear - 1] ?? 10);
    const wheel = this.speed / 0.31;
    const inside = wheel * ratio;
    const factor = 0.0014 * v.displacementL;
    const torque =
      this.gear === 0 ? 0 : factor * (omega * omega - inside * inside) * (omega > inside ? 1 : 0.6);
    const mass = v.massKg;
    const load = this.speed > 0 ? mass * 9.81 * 0.012 + 0.45 * this.speed * this.speed : 0;
    const pull = (torque * ratio * 0.92) / 0.31;
    this.speed = Math.max(0, this.speed + ((pull - load - this.brake * mass * 4) / mass) * dt);
    return torque;
  }

  /** Shifts by speed and pedal. */
  shift(pedal: number): void {
    if (this.gear === 0) return;
    const gears = this.#vehicle.gears.length;
    const up = [16, 32, 50, 74][this.gear - 1] ?? 999;
    const later = 1 + 0.9 * Math.max(0, pedal - 0.2);
    if (this.gear < gears && this.kmh > up * later) this.gear += 1;
    const down = [0, 10, 25, 42, 64][this.gear - 1] ?? 0;
    if (this.gear > 1 && this.kmh < down) this.gear -= 1;
  }
}
