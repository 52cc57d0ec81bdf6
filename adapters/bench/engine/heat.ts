import type { BenchVehicle } from "../vehicles.ts";

/** Temperatures, °C: coolant with block, oil, intake air. */
export class Heat {
  coolantC: number;
  oilC: number;
  intakeC: number;
  batteryC: number;
  /** Walls of the combustion chamber. */
  wallC: number;
  readonly ambientC: number;
  /** Fan of the cooler, set by the module; air speed through it, m/s. */
  fan = false;
  windMs = 0;
  #burned = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle, startC: number, ambientC: number) {
    this.#vehicle = vehicle;
    this.coolantC = startC;
    this.oilC = startC;
    this.ambientC = ambientC;
    this.intakeC = ambientC + (startC - ambientC) * 0.2;
    this.batteryC = ambientC;
    this.wallC = startC;
  }

  /** Energy of fuel burned in one cylinder, J; part of it heats block and coolant, more of it at low speed. */
  fuelBurned(joule: number, rpm: number): void {
    const share = 0.27 + 0.18 * Math.exp(-Math.max(0, rpm - 700) / 1300);
    this.#burned += joule * share * (this.#vehicle.fuel === "diesel" ? 0.8 : 1);
  }

  step(dt: number, rpm: number, airFlow: number, thermostatOpen: number): void {
    const v = this.#vehicle;
    const above = this.coolantC - this.ambientC;
    const open = Math.max(thermostatOpen, Math.min(1, Math.max(0, (this.coolantC - v.thermostatC) / 6)));
    const size = v.displacementL;
    const wind = 25 + 9 * this.windMs;
    const turning = rpm > 0 ? 1 : 0.15;
    const loss = above * (4 + 3 * size) + open * above * Math.max(this.fan ? 70 : 0, wind) * size * turning;
    this.coolantC += (this.#burned - loss * dt) / v.heatCapacity;
    const power = this.#burned / dt;
    this.#burned = 0;
    this.wallC += ((this.coolantC + 110 * Math.min(1, power / (1500 * size)) - this.wallC) * dt) / 3;
    this.oilC += ((this.coolantC - this.oilC) * dt) / (rpm > 0 ? 150 : 1500);
    // Air in the pipe warms from the block at small flow.
    const soak = (0.28 * above) / (1 + airFlow / (0.004 * size));
    this.intakeC += ((this.ambientC + soak - this.intakeC) * dt) / (rpm > 0 ? 60 : 600);
  }
}
