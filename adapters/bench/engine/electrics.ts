import type { BenchVehicle } from "../vehicles.ts";
import type { Damage } from "../damage.ts";

/** Rest voltage over charge. Source: "Essential electrical test" class sheet; ASE L1 study guide 2.3. */
const restVolts = [11.89, 12.06, 12.24, 12.45, 12.65] as const;

export function restVoltage(charge: number): number {
  const x = Math.min(4, Math.max(0, charge * 4));
  const i = Math.min(3, Math.floor(x));
  const low = restVolts[i] ?? 11.89;
  return low + ((restVolts[i + 1] ?? 12.65) - low) * (x - i);
}

export interface ElectricLoad {
  /** What the vehicle draws, A. */
  loadAmp: number;
  /** The starter's speed at the crankshaft while it is switched on, rad/s; NaN when not. */
  starterOmega: number;
  rpm: number;
  /** What the regulator aims at, V. */
  setVolts: number;
  tempC: number;
}

/**
 * Battery, starter and alternator on one node. The battery is a voltage behind a resistance and one slow
 * polarisation stage (first-order equivalent circuit, common practice); the starter a permanent-magnet motor.
 */
export class Electrics {
  /** State of charge 0..1, polarisation V, terminal V, battery current A (out is positive). */
  charge: number;
  polarisation = 0;
  volts: number;
  current = 0;
  starterAmp = 0;
  alternatorAmp = 0;
  /** Seconds the alternator has been turning fast enough to charge. */
  #excitedS = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle, charge: number) {
    this.#vehicle = vehicle;
    this.charge = charge;
    this.volts = restVoltage(charge);
  }

  step(dt: number, load: ElectricLoad, damage: Damage): void {
    const v = this.#vehicle;
    const { loadAmp, starterOmega, rpm } = load;
    const ohm = this.ohm(load.tempC, damage);
    const source = restVoltage(this.charge) + this.polarisation;
    this.#excitedS = rpm > 420 ? this.#excitedS + dt : 0;
    let volts = source - loadAmp * ohm;
    this.starterAmp = 0;
    this.alternatorAmp = 0;
    if (!Number.isNaN(starterOmega)) {
      const emf = v.starterK * starterOmega;
      volts = (volts + (emf * ohm) / v.starterOhm) / (1 + ohm / v.starterOhm);
      this.starterAmp = Math.max(0, (volts - emf) / v.starterOhm);
      if (this.starterAmp === 0) volts = source - loadAmp * ohm;
    }
    if (this.#excitedS > 0) {
      const most = v.alternatorAmp * (1 - Math.exp(-(rpm - 200) / 700)) * Math.min(1, this.#excitedS / 3);
      this.alternatorAmp = Math.min(most, Math.max(0, (load.setVolts - volts) / ohm));
      volts += this.alternatorAmp * ohm;
    }
    this.volts = volts;
    this.current = (source - volts) / ohm;
    // Charging current falls over tens of seconds as the plates polarise; discharge recovers likewise.
    const goal = -this.current * ohm * (this.current < 0 ? 25 : 1.2);
    this.polarisation += ((Math.max(-0.9, Math.min(2.2, goal)) - this.polarisation) * dt) / 25;
    this.charge = Math.min(1, Math.max(0, this.charge - (this.current * dt) / (v.batteryAh * 3600)));
  }

  /** Internal resistance: grows as charge falls and in the cold (about 1 % a kelvin; common practice). */
  ohm(tempC: number, damage: Damage): number {
    const empty = 1 - this.charge;
    const cold = Math.exp(0.011 * Math.max(-10, 25 - tempC));
    return this.#vehicle.batteryOhm * damage.batteryOhmFactor * (1 + 0.9 * empty * empty) * cold;
  }
}
