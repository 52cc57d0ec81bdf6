import type { BenchVehicle } from "../vehicles.ts";
import type { Engine } from "./engine.ts";

/** Fuel from the rail to the cylinder: pressure, injector, wall film, vapour. Masses in kg, pressures in kPa. */
export class Mixture {
  /** Rail pressure, kPa gauge. */
  rail = 0;
  /** Per position in firing order: fuel on the port wall, fuel vapour of this cycle. */
  readonly film: Float64Array;
  readonly vapour: Float64Array;
  #wallShare = 0.3;
  #filmS = 0.3;
  #lost = 0;
  #drawn = 0;
  #drawnFlow = 0;
  readonly #last: Float64Array;
  #clock = 0;
  readonly #vehicle: BenchVehicle;

  constructor(vehicle: BenchVehicle) {
    this.#vehicle = vehicle;
    const n = vehicle.firingOrder.length;
    this.film = new Float64Array(n);
    this.vapour = new Float64Array(n);
    this.#last = new Float64Array(n).fill(-10);
  }

  /**
   * Injects into the port of one cylinder and lets part of the wall film go with the air: the share that lands on
   * the wall and the film's time constant are those of the X-tau model (Aquino, SAE 810494; values common practice).
   */
  inject(k: number, seconds: number, engine: Engine): void {
    const open = Math.max(0, seconds - deadTime(engine.electrics.volts));
    const head = Math.max(0, this.rail + (engine.ambient - engine.manifold) / 1000);
    const mass = open * this.#vehicle.injectorFlow * 1e-3 * Math.sqrt(head / this.#vehicle.railPressure);
    const since = Math.min(5, this.#clock - (this.#last[k] ?? 0));
    this.#last[k] = this.#clock;
    this.#drawn += mass;
    const film = this.film[k] ?? 0;
    const leaves = film * (1 - Math.exp(-since / this.#filmS));
    this.film[k] = film - leaves + mass * this.#wallShare;
    this.vapour[k] = (mass * (1 - this.#wallShare) + leaves) * (1 - this.#lost);
  }

  /** Chance that a spark lights this charge: falls off at both limits of mixture, and with too little charge. */
  burnChance(lambda: number, air: number, volume: number): number {
    const lean = 1 / (1 + Math.exp((lambda - 1.55) / 0.045));
    const rich = 1 / (1 + Math.exp((0.45 - lambda) / 0.025));
    const enough = 1 / (1 + Math.exp((0.1 - air / (volume * 1.18)) / 0.012));
    return lean * rich * enough;
  }

  step(dt: number, pump: boolean, volts: number, coolantC: number): void {
    this.#clock += dt;
    this.#drawnFlow += (this.#drawn / dt - this.#drawnFlow) * Math.min(1, dt / 0.3);
    this.#drawn = 0;
    // Cold ports hold more film for longer, and some fuel passes the rings unburnt (common practice).
    this.#wallShare = 0.22 + 0.38 * Math.exp(-(coolantC + 20) / 45);
    this.#filmS = 0.16 + 2.2 * Math.exp(-(coolantC + 20) / 32);
    this.#lost = 0.22 * Math.exp(-(coolantC + 20) / 35);
    const rated = this.#vehicle.railPressure;
    if (pump) {
      // A turbine pump's pressure falls with flow and rises with the square of its voltage; the regulator caps it.
      const strength = Math.min(1.4, (volts / 12.5) ** 2);
      const most = rated * 1.9 * strength - this.#drawnFlow * 2e4;
      this.rail += ((Math.max(0, Math.min(rated, most)) - this.rail) * dt) / 0.25;
    } else {
      this.rail *= 1 - dt / 2400;
    }
  }
}

/** Seconds from current to lift; longer at low voltage. About 1 ms at 13.5 V, 2 ms at 9 V (common practice). */
export function deadTime(volts: number): number {
  return 0.001 * (13.5 / Math.max(5, volts)) ** 1.7;
}
