import { fillShare, gasConstant } from "../engine/air.ts";
import { deadTime } from "../engine/mixture.ts";
import type { BenchVehicle } from "../vehicles.ts";
import type { Senses } from "./senses.ts";

/** Rail pressure below which injection is not tried, kPa (common practice: 150 to 250 bar). */
const leastRail = 18_000;
/** Air per fuel that is kept against smoke. */
const leastLambda = 1.3;

export interface GovernorState {
  readonly rpm: number;
  readonly running: boolean;
  readonly pedal: number;
  readonly targetRpm: number;
}

/** The diesel's governor: quantity of each injection, by idle control, pedal and the air there is. */
export class Governor {
  /** Kilograms a stroke, wanted; the greatest at full pedal. */
  quantity = 0;
  readonly most: number;
  /** Glow plugs, 0 or 1. */
  glow = 0;
  /** Exhaust gas led back, 0 to 1 of the cylinders' breath: cooler burning at part load (common practice). */
  egr = 0;
  #sum = 0;
  #glowS = 0;
  #ran = false;
  readonly #vehicle: BenchVehicle;
  readonly #senses: Senses;

  constructor(vehicle: BenchVehicle, senses: Senses) {
    this.#vehicle = vehicle;
    this.#senses = senses;
    this.most = (1.1e-4 * vehicle.displacementL) / vehicle.firingOrder.length;
  }

  step(dt: number, state: GovernorState): void {
    const coolant = this.#senses.coolantBelieved;
    if (state.running && !this.#ran) this.#glowS = 0;
    this.#ran = state.running;
    this.#glowS += dt;
    // Before the start, while cranking, and for a while after it in the cold.
    const wanted = Math.min(30, Math.max(0, (60 - coolant) * 0.22));
    this.glow = this.#glowS < wanted || (!state.running && state.rpm > 0 && coolant < 60) ? 1 : 0;
    const part = 1 - this.quantity / (0.6 * this.most);
    const wantedEgr = state.running && coolant > 40 && state.rpm < 3000 ? 0.3 * Math.max(0, part) : 0;
    this.egr += (wantedEgr - this.egr) * Math.min(1, dt / 0.8);
    if (!state.running) {
      const cold = Math.min(1, Math.max(0, (70 - coolant) / 90));
      this.quantity = this.most * (0.36 + 0.3 * cold);
      this.#sum = this.most * 0.12;
      return;
    }
    const error = state.targetRpm - state.rpm;
    const cap = this.most * 0.5;
    this.#sum = Math.min(cap, Math.max(0, this.#sum + error * dt * 2e-8));
    const idle = Math.min(cap, Math.max(0, this.#sum + error * 2.2e-8));
    const limit = Math.max(0, Math.min(1, (4600 - state.rpm) / 300));
    const driver = state.pedal * this.most * limit;
    this.quantity = Math.min(Math.max(idle, driver), this.#smokeLimit(state.rpm));
  }

  restart(): void {
    this.#glowS = 0;
  }

  #smokeLimit(rpm: number): number {
    const v = this.#vehicle;
    const s = this.#senses;
    const pressure = s.manifoldKpa * 1000;
    const volume = (v.displacementL * 1e-3) / v.firingOrder.length;
    const share = fillShare(rpm, pressure, s.barometricKpa * 1000, v.compression);
    return (share * volume * pressure) / (gasConstant * (s.intakeC + 273.15) * 14.5 * leastLambda);
  }

  injection(): number {
    const s = this.#senses;
    if (s.railKpa < leastRail || this.quantity <= 0) return 0;
    const v = this.#vehicle;
    const flow = v.injectorFlow * 1e-3 * Math.sqrt(s.railKpa / v.railPressure);
    return this.quantity / flow + deadTime(s.volts);
  }
}
