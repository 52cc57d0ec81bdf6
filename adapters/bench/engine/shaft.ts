import type { Damage } from "../damage.ts";
import type { BenchVehicle } from "../vehicles.ts";

const degree = 180 / Math.PI;

/** Torques of a step, N·m. */
export interface ShaftDrive {
  gas: number;
  friction: number;
  /** Alternator, accessory and gearbox. */
  outside: number;
  starterOn: boolean;
  starterAmp: number;
}

/** Crankshaft and starter with its one-way clutch. Speeds in rad/s. */
export class Shaft {
  omega = 0;
  starterOmega = 0;
  /** Degrees turned in the last step. */
  turned = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle) {
    this.#vehicle = vehicle;
  }

  step(dt: number, drive: ShaftDrive, damage: Damage): void {
    const v = this.#vehicle;
    const { gas, starterOn } = drive;
    const drag = drive.friction + drive.outside;
    // At rest friction only holds.
    const free = this.omega > 0 ? gas - drag : Math.max(0, gas - drag);
    const motor = starterOn ? drive.starterAmp * v.starterK * 0.86 : 0;
    const own = Math.min(this.starterOmega > 0 ? Infinity : motor, damage.starterDrag);
    const starter = motor - own - (starterOn ? 0 : 0.4 * this.starterOmega);
    let next = this.omega + (free / v.inertia) * dt;
    if (starterOn && this.starterOmega >= this.omega - 1e-9) {
      const load = this.omega > 0 ? free : Math.min(0, gas - drag);
      const pull = (starter + load) / (v.inertia + v.starterInertia);
      if (starter - v.starterInertia * pull >= 0) {
        next = Math.max(0, this.omega + pull * dt);
        this.starterOmega = next;
      } else {
        this.starterOmega = Math.max(0, this.omega + (starter / v.starterInertia) * dt);
      }
    } else {
      const change = (starter - 0.12 * this.starterOmega) / v.starterInertia;
      this.starterOmega = Math.max(0, this.starterOmega + change * dt);
      if (starterOn && this.starterOmega > next) {
        const both = v.inertia + v.starterInertia;
        next = (this.starterOmega * v.starterInertia + next * v.inertia) / both;
        this.starterOmega = next;
      }
    }
    next = Math.max(0, next);
    if (!starterOn && next < 0.4) next = 0;
    if (!starterOn && this.starterOmega < 0.5) this.starterOmega = 0;
    this.turned = ((this.omega + next) / 2) * dt * degree;
    this.omega = next;
  }
}
