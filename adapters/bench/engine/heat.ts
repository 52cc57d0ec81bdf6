import type { BenchVehicle } from "../vehicles.ts";

/** Temperatures, °C: coolant with block, oil, intake air. */
export class Heat {
  coolantC: number;
  oilC: number;
  intakeC: number;
  batteryC: number;
  readonly ambientC: number;
  /** Fan of the cooler, set by the module. */
  fan = false;
  #burned = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle, startC: number, ambientC: number) {
    this.#vehicle = vehicle;
    this.coolantC = startC;
    this.oilC = startC;
    this.ambientC = ambientC;
    this.intakeC = ambientC + (startC - ambientC) * 0.2;
    this.batteryC = ambientC;
  }

  /** Energy of fuel burned in one cylinder, J; about 45 % of it heats block and coolant at light load. */
  fuelBurned(joule: number): void {
    this.#burned += joule * 0.45;
  }

  step(dt: number, rpm: number, airFlow: number): void {
    const v = this.#vehicle;
    const above = this.coolantC - this.ambientC;
    const open = Math.min(1, Math.max(0, (this.coolantC - v.thermostatC) / 6));
    const size = v.displacementL;
    const loss = above * (4 + 3 * size) + open * above * (this.fan ? 60 : 25) * size;
    this.coolantC += (this.#burned - loss * dt) / v.heatCapacity;
    this.#burned = 0;
    this.oilC += ((this.coolantC - this.oilC) * dt) / (rpm > 0 ? 150 : 1500);
    // Air in the pipe warms from the block at small flow.
    const soak = (0.28 * above) / (1 + airFlow / (0.004 * size));
    this.intakeC += ((this.ambientC + soak - this.intakeC) * dt) / (rpm > 0 ? 60 : 600);
  }
}
