import type { BenchVehicle } from "../vehicles.ts";
import type { Damage } from "../damage.ts";
import type { Random } from "../random.ts";
import { Contact } from "./contact.ts";

/** Rest voltage over charge. Source: "Essential electrical test" class sheet; ASE L1 study guide 2.3. */
const restVolts = [11.89, 12.06, 12.24, 12.45, 12.65] as const;

export function restVoltage(charge: number): number {
  const x = Math.min(4, Math.max(0, charge * 4));
  const i = Math.min(3, Math.floor(x));
  const low = restVolts[i] ?? 11.89;
  return low + ((restVolts[i + 1] ?? 12.65) - low) * (x - i);
}

/** A good battery on jump leads: volts, ohm with the leads. */
const boosterVolts = 12.75;
const boosterOhm = 0.009;
/** Current through module, and through the relay to coils and injectors, A. */
const moduleAmp = 2.5;
const relayAmp = 5;

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
 * Battery, starter and alternator. The battery is a voltage behind a resistance and one slow polarisation stage
 * (first-order equivalent circuit, common practice); the starter a permanent-magnet motor. Starter, alternator
 * and control module return through the engine's ground strap; the diagnostic socket does not. The supply ripples with the
 * compressions by the battery's resistance. The starter's inductance is left out: some 0.1 mH over 20 mΩ (common practice) are
 * 5 ms, which take about 4 % of a ripple of ten a second.
 */
export class Electrics {
  /** State of charge 0..1, polarisation V, volts at the battery, battery current A (out is positive). */
  charge: number;
  polarisation = 0;
  volts: number;
  current = 0;
  starterAmp = 0;
  alternatorAmp = 0;
  /** Volts at the control module, and behind the main relay at coils and injectors. */
  moduleVolts: number;
  relayVolts = 0;
  /** Jump leads are on. */
  booster = false;
  /** A good relay stands in for the vehicle's own. */
  relaySwapped = false;
  /** Seconds the alternator has been turning fast enough to charge. */
  #excitedS = 0;
  /** The temperature that was last asked for, and what its cold does to the resistance. */
  #coldAtC = Number.NaN;
  #cold = 1;
  readonly #relay = new Contact();
  readonly #supply = new Contact();
  readonly #vehicle: BenchVehicle;
  readonly #random: Random;

  constructor(vehicle: BenchVehicle, charge: number, random: Random) {
    this.#vehicle = vehicle;
    this.#random = random;
    this.charge = charge;
    this.volts = restVoltage(charge);
    this.moduleVolts = this.volts;
  }

  /** The plug of the module is moved by hand, or let go. */
  wiggle(on: boolean): void {
    this.#supply.wiggled = on;
  }

  step(dt: number, load: ElectricLoad, damage: Damage): void {
    const v = this.#vehicle;
    const { loadAmp, starterOmega, rpm } = load;
    const own = this.ohm(load.tempC, damage);
    const inside = restVoltage(this.charge) + this.polarisation;
    let ohm = own;
    let source = inside;
    if (this.booster) {
      ohm = (own * boosterOhm) / (own + boosterOhm);
      source = (inside * boosterOhm + boosterVolts * own) / (own + boosterOhm);
    }
    this.#excitedS = rpm > 420 ? this.#excitedS + dt : 0;
    let volts = source - loadAmp * ohm;
    this.starterAmp = 0;
    this.alternatorAmp = 0;
    if (!Number.isNaN(starterOmega)) {
      const emf = v.starterK * starterOmega;
      const path = v.starterOhm + damage.cableOhm + damage.groundOhm;
      const loaded = (volts + (emf * ohm) / path) / (1 + ohm / path);
      if (loaded > emf) {
        this.starterAmp = (loaded - emf) / path;
        volts = loaded;
      }
    }
    if (this.#excitedS > 0) {
      const able = v.alternatorAmp * damage.alternator * (1 - Math.exp(-(rpm - 200) / 700));
      const most = able * Math.min(1, this.#excitedS / 3);
      // A regulator gives way a little under load (common practice: some tenths of a volt over its range).
      const droop = 0.35 / v.alternatorAmp;
      const wanted = Math.max(0, (load.setVolts - volts) / (ohm + damage.groundOhm + droop));
      this.alternatorAmp = Math.min(most, wanted);
      volts += this.alternatorAmp * ohm;
    }
    this.volts = volts;
    this.current = (inside - volts) / own;
    // Charging current falls over tens of seconds as the plates polarise; discharge recovers likewise.
    const goal = -this.current * own * (this.current < 0 ? 25 : 1.2);
    this.polarisation += ((Math.max(-0.9, Math.min(2.2, goal)) - this.polarisation) * dt) / 25;
    this.charge = Math.min(1, Math.max(0, this.charge - (this.current * dt) / (v.batteryAh * 3600)));
    this.#feed(dt, damage, rpm);
  }

  #feed(dt: number, damage: Damage, rpm: number): void {
    // The block lies above body ground by what the strap drops.
    const block = (this.starterAmp - this.alternatorAmp + moduleAmp + relayAmp) * damage.groundOhm;
    const shaken = this.starterAmp > 0 ? damage.moduleDropout : damage.moduleDropout * 0.08;
    this.#supply.step(dt, shaken, this.#random);
    const module = this.volts - block - moduleAmp * (0.01 + damage.moduleOhm);
    this.moduleVolts = this.#supply.open ? 0 : module;
    this.#relay.step(dt, this.relaySwapped ? 0 : damage.relayDropout, this.#random);
    const broken = !this.relaySwapped && (damage.relayOpen || this.#relay.open);
    // Injectors and coils are on more of the time the faster it turns.
    const amp = relayAmp * Math.min(1.6, 0.5 + rpm / 2500);
    const drop = amp * (0.02 + (this.relaySwapped ? 0 : damage.relayOhm));
    this.relayVolts = broken ? 0 : Math.max(0, this.volts - block - drop);
  }

  /** Internal resistance: grows as charge falls and in the cold (about 1 % a kelvin; common practice). */
  ohm(tempC: number, damage: Damage): number {
    const empty = 1 - this.charge;
    if (tempC !== this.#coldAtC) {
      this.#coldAtC = tempC;
      this.#cold = Math.exp(0.011 * Math.max(-10, 25 - tempC));
    }
    return this.#vehicle.batteryOhm * damage.batteryOhmFactor * (1 + 0.9 * empty * empty) * this.#cold;
  }
}
