import type { Engine } from "../engine/engine.ts";
import type { Random } from "../random.ts";

/** A coolant reading at or beyond these is a broken circuit (service manuals: valid -39 to 140 °C). */
const openC = -40;
const shortC = 140;

/** What the module's sensors say, faults included, and what it takes for true. kPa, g/s, °C, V, shares. */
export class Senses {
  manifoldKpa = 101;
  barometricKpa = 101;
  airFlow = 0;
  /** Coolant as read, and as believed once a reading out of range is replaced. */
  coolantC = 20;
  coolantBelieved = 20;
  intakeC = 20;
  volts = 12.6;
  relayVolts = 0;
  railKpa = 0;
  /** Throttle sensor, share of its range; with the plate closed it is not 0 on any car. */
  throttle: number;
  readonly throttleClosed: number;
  readonly #engine: Engine;
  readonly #random: Random;
  #startC: number | null = null;

  constructor(engine: Engine, random: Random) {
    this.#engine = engine;
    this.#random = random;
    this.throttleClosed = engine.vehicle.throttle === "electronic" ? 0.125 : 0.14;
    this.throttle = this.throttleClosed;
  }

  /** How far the plate seems to be open, 0 to 1, by the sensor. */
  get plate(): number {
    return Math.max(0, (this.throttle - this.throttleClosed) / 0.73);
  }

  get coolantBroken(): boolean {
    return this.coolantC <= openC || this.coolantC >= shortC;
  }

  /** Every 10 ms. `still`: engine not turning, so the manifold sensor shows barometric pressure. */
  read(still: boolean, sinceStart: number): void {
    const { damage, manifold, ambient, heat, electrics, mixture } = this.#engine;
    const noise = this.#random.normal();
    this.volts += 0.006 * this.#random.normal();
    const pressure = manifold.pressure + damage.manifoldHose * (ambient - manifold.pressure);
    this.manifoldKpa += (pressure / 1000 + noise * 0.15 - this.manifoldKpa) * 0.5;
    const flow = Math.max(0, manifold.metered) * 1000 * damage.meterScale;
    // Without a throttle every intake stroke is felt at the meter: its reading is smoothed more.
    const smoothing = this.#engine.vehicle.fuel === "diesel" ? 0.06 : 0.35;
    this.airFlow += (flow * (1 + 0.006 * noise) - this.airFlow) * smoothing;
    this.intakeC = heat.intakeC;
    this.railKpa = mixture.rail;
    this.relayVolts = electrics.relayVolts;
    if (still) this.barometricKpa = ambient / 1000;
    this.#readThrottle();
    this.#readCoolant(sinceStart);
  }

  #readThrottle(): void {
    const { orders, vehicle, damage } = this.#engine;
    const electronic = vehicle.throttle === "electronic" && vehicle.fuel === "petrol";
    // An electronic plate shows its idle opening; a cable one has the idle air beside it.
    const idle = electronic ? (orders.idleArea / vehicle.throttleArea) ** (1 / 1.7) : 0;
    const open = Math.min(1, Math.max(orders.throttle + idle, damage.throttleReads));
    this.throttle = this.throttleClosed + 0.73 * open;
  }

  #readCoolant(sinceStart: number): void {
    const { damage, heat, vehicle } = this.#engine;
    if (damage.coolantCircuit === "open") this.coolantC = openC;
    else if (damage.coolantCircuit === "shorted") this.coolantC = 150;
    else this.coolantC = Math.max(-39, heat.coolantC + damage.coolantOffset);
    if (!this.coolantBroken) {
      this.coolantBelieved = this.coolantC;
      this.#startC = null;
    } else if (vehicle.substitutes) {
      this.#startC ??= this.intakeC;
      this.coolantBelieved = Math.min(85, this.#startC + 0.14 * Math.max(0, sinceStart));
    } else {
      this.coolantBelieved = Math.min(120, this.coolantC);
    }
  }
}
