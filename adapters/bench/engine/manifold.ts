import type { Damage } from "../damage.ts";
import type { BenchVehicle } from "../vehicles.ts";
import { gasConstant, psi } from "./air.ts";

/** What acts on the manifold in a step. Pressures in Pa, areas in m², flows in kg/s. */
export interface ManifoldDrive {
  ambient: number;
  /** Pressure ahead of the throttle: ambient, or above it behind a turbo. */
  source: number;
  kelvin: number;
  meteredArea: number;
  /** The purge valve as the module has it, on top of what it leaks. */
  purgeArea: number;
  /** Exhaust gas led back, share of what the cylinders breathe. */
  egr: number;
  /** Cylinder volumes a second that the pistons open, times the share that fills. */
  breathing: number;
}

/**
 * Filling and emptying of the manifold, isothermal (Heywood 14.3.3; Hendricks). Holes are taken as a slope from
 * the present pressure and the step is implicit, so it stays stable where the flow function is steep.
 */
export class Manifold {
  pressure: number;
  /** Flow past the air meter; through leaks; through leaks at the ports of bank 2; through the purge valve. */
  metered = 0;
  leak = 0;
  portLeak = 0;
  purge = 0;
  /** Splits and joints are taped over from outside. */
  sealed = false;
  /** Kilograms of fuel vapour per kilogram of air that cylinders take from the manifold. */
  vapourShare = 0;
  /** Fuel a person adds at the intake, kg/s. */
  added = 0;
  /** Richness left in the canister, 0 to 1. */
  #canister = 1;
  /** The throttle that was last asked for, and what is open then. */
  #throttle = 0;
  #opening = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle, ambient: number) {
    this.#vehicle = vehicle;
    this.pressure = ambient;
  }

  /** Share of the throttle's area that is open, of the share that its plate is. */
  opening(throttle: number): number {
    if (throttle !== this.#throttle) {
      this.#throttle = throttle;
      this.#opening = throttle ** 1.7;
    }
    return this.#opening;
  }

  step(dt: number, drive: ManifoldDrive, damage: Damage): void {
    const { ambient, source, kelvin, meteredArea } = drive;
    const purgeArea = damage.purgeArea + drive.purgeArea;
    const kept = this.sealed ? 0.03 : 1;
    const holes = damage.leakArea * kept + purgeArea;
    const R = gasConstant;
    const scale = 1 / Math.sqrt(R * kelvin);
    const main = slopeOf(source, this.pressure) * scale;
    const side = holes + damage.portLeakArea > 0 ? slopeOf(ambient, this.pressure) * scale : 0;
    const stiffness = (dt * R * kelvin) / this.#vehicle.manifoldVolume;
    const out = drive.breathing / (R * kelvin);
    const flowIn = main * meteredArea * source + side * holes * ambient;
    const slopes = main * meteredArea + side * holes + out;
    this.pressure = (this.pressure + stiffness * flowIn) / (1 + stiffness * slopes);
    this.metered = main * meteredArea * (source - this.pressure) * (1 - drive.egr);
    this.leak = side * damage.leakArea * kept * (ambient - this.pressure);
    this.portLeak = side * damage.portLeakArea * kept * (ambient - this.pressure);
    this.purge = side * purgeArea * (ambient - this.pressure);
  }

  /** Slow part: how much fuel vapour is in the air. */
  stepVapour(dt: number): void {
    const flow = Math.max(1e-4, this.metered + this.leak + this.purge);
    // The canister is empty to a third once about 75 g of air a litre have washed it (common practice: some hundreds).
    this.#canister *= 1 - (Math.max(0, this.purge) * dt) / (0.075 * this.#vehicle.displacementL);
    const fuel = this.added + Math.max(0, this.purge) * 0.22 * this.#canister;
    this.vapourShare += (Math.min(0.3, fuel / flow) - this.vapourShare) * Math.min(1, dt / 0.12);
  }
}

/** Flow over pressure difference, for a hole of 1 m² at R·T = 1. */
function slopeOf(from: number, to: number): number {
  const gap = Math.max(from - to, 20);
  return (from * psi(Math.min(to / from, 0.9998))) / gap;
}
