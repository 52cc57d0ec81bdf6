import type { Damage } from "../damage.ts";
import type { Random } from "../random.ts";
import type { BenchVehicle } from "../vehicles.ts";
import { Contact } from "./contact.ts";

/** Supply of one step: pump running, volts, coolant °C, engine speed rpm. */
export interface FuelDrive {
  pump: boolean;
  volts: number;
  coolantC: number;
  rpm: number;
}

/** What one injection sees. Pressures in kPa. */
export interface InjectionPlace {
  readonly relayVolts: number;
  readonly manifoldGauge: number;
}

/**
 * Fuel from the tank to the port: pressure, injector, wall film, vapour. Masses in kg, pressures in kPa. For the
 * diesel the same rail and injector at its own pressure, without a film.
 */
export class Mixture {
  /** Rail pressure, kPa gauge. */
  rail = 0;
  /** Per position in firing order: fuel on the port wall, fuel vapour of this cycle, how wet the plug is (0..1). */
  readonly film: Float64Array;
  readonly vapour: Float64Array;
  readonly wet: Float64Array;
  /** Fuel drawn by the injectors, g/s. */
  drawn = 0;
  #wallShare = 0.3;
  #filmS = 0.3;
  #lost = 0;
  #taken = 0;
  #clock = 0;
  #primed = 1;
  readonly #last: Float64Array;
  readonly #air = new Contact();
  readonly #vehicle: BenchVehicle;
  readonly #random: Random;

  constructor(vehicle: BenchVehicle, random: Random) {
    this.#vehicle = vehicle;
    this.#random = random;
    const n = vehicle.firingOrder.length;
    this.film = new Float64Array(n);
    this.vapour = new Float64Array(n);
    this.wet = new Float64Array(n);
    this.#last = new Float64Array(n).fill(-10);
  }

  /**
   * Injects into the port of one cylinder and lets part of the wall film go with the air: the share that lands on
   * the wall and the film's time constant are those of the X-tau model (Aquino, SAE 810494; values common practice).
   */
  inject(k: number, seconds: number, place: InjectionPlace, damage: Damage): void {
    const v = this.#vehicle;
    const cylinder = (v.firingOrder[k] ?? 1) - 1;
    const share = damage.injector[cylinder] ?? 1;
    const since = Math.min(5, this.#clock - (this.#last[k] ?? 0));
    this.#last[k] = this.#clock;
    const open = place.relayVolts < 5 ? 0 : Math.max(0, seconds - deadTime(place.relayVolts));
    const head = Math.max(0, this.rail - place.manifoldGauge);
    const flow = v.injectorFlow * 1e-3 * Math.sqrt(head / v.railPressure);
    const mass = flow * (open * share + since * (damage.injectorLeak[cylinder] ?? 0));
    this.#taken += mass;
    if (v.fuel === "diesel") {
      this.vapour[k] = mass;
      return;
    }
    // A clogged injector's spray is coarse: more of it lands on the wall.
    const wall = Math.min(0.9, this.#wallShare + 0.25 * (1 - share));
    const film = this.film[k] ?? 0;
    const leaves = film * (1 - Math.exp(-since / this.#filmS));
    this.film[k] = film - leaves + mass * wall;
    this.vapour[k] = (mass * (1 - wall) + leaves) * (1 - this.#lost);
  }

  /** Fuel that is nearly all liquid wets the plug; a burn or a dry cycle dries it. */
  burnedAt(k: number, burned: boolean, lambda: number): void {
    const wet = this.wet[k] ?? 0;
    if (burned) this.wet[k] = wet * 0.6;
    else this.wet[k] = lambda < 0.5 ? Math.min(1, wet + 0.06) : wet * 0.9;
  }

  step(dt: number, drive: FuelDrive, damage: Damage): void {
    const { coolantC } = drive;
    this.#clock += dt;
    this.drawn += ((this.#taken / dt) * 1000 - this.drawn) * Math.min(1, dt / 0.3);
    this.#taken = 0;
    // Cold ports hold more film for longer, and some fuel passes the rings unburnt (common practice).
    const stale = damage.staleness;
    this.#wallShare = 0.22 + 0.38 * Math.exp(-(coolantC + 20) / 45) + 0.3 * stale;
    this.#filmS = (0.16 + 2.2 * Math.exp(-(coolantC + 20) / 32)) * (1 + 4 * stale);
    this.#lost = 0.22 * Math.exp(-(coolantC + 20) / 35) + 0.26 * stale;
    this.#air.step(dt, damage.tankEmpty, this.#random);
    if (this.#vehicle.fuel === "diesel") this.#commonRail(dt, drive, damage);
    else this.#portRail(dt, drive, damage);
  }

  /**
   * A turbine pump's pressure falls with flow and rises with the square of its voltage; the regulator caps it.
   * Filter and line lose pressure with the square of what the injectors draw.
   */
  #portRail(dt: number, { pump, volts }: FuelDrive, damage: Damage): void {
    const v = this.#vehicle;
    if (!pump || damage.pump === 0 || this.#air.open) {
      const leak = damage.injectorLeak.reduce((a, b) => a + b, 0);
      this.rail *= 1 - dt * ((this.#air.open && pump ? 1.25 : 0.0004) + leak / 6);
      this.rail = Math.max(0, this.rail - (this.drawn * dt * v.railPressure) / 1.5);
      return;
    }
    const strength = Math.min(1.4, (volts / 12.5) ** 2);
    const capacity = 7 * v.displacementL * damage.pump;
    const head = v.railPressure * 2.1 * strength * damage.pump ** 0.45 * (1 - this.drawn / capacity);
    const lost = v.railPressure * damage.filter * (this.drawn / (3 * v.displacementL)) ** 2;
    // The regulator sits at the pump, ahead of filter and line.
    const most = Math.max(0, Math.min(v.railPressure, head) - lost);
    this.rail += ((most - this.rail) * dt) / 0.25;
  }

  /** High-pressure pump driven by the engine, fed by the lift pump; a valve holds the aim. */
  #commonRail(dt: number, { pump, rpm }: FuelDrive, damage: Damage): void {
    const v = this.#vehicle;
    // A pump that drew air has to prime itself again.
    this.#primed = this.#air.open ? 0 : Math.min(1, this.#primed + dt / 2.5);
    const fed = pump ? damage.pump * this.#primed : 0;
    const supply = Math.max(0, (7 * fed ** 2.2 - 1.1 * damage.filter) * v.displacementL);
    // Grams a second the pump can lift into the rail, and what the rail does with the surplus.
    const able = Math.min(supply, rpm * 0.0035 * v.displacementL);
    const leak = 2.2e-6 * v.displacementL * this.rail;
    const change = (able - this.drawn - leak) * 30_000;
    const aim = v.railPressure * (1 + 2.2 * Math.min(1, this.drawn / (1.6 * v.displacementL)));
    this.rail = Math.max(0, Math.min(this.rail + change * dt, Math.max(aim, this.rail - 40_000 * dt)));
  }
}

/** Seconds from current to lift; longer at low voltage. About 1 ms at 13.5 V, 2 ms at 9 V (common practice). */
export function deadTime(volts: number): number {
  return 0.001 * (13.5 / Math.max(5, volts)) ** 1.7;
}
