import type { Damage } from "../damage.ts";
import type { BenchVehicle } from "../vehicles.ts";

const ringSize = 256;

export interface ExhaustDrive {
  rpm: number;
  ambient: number;
  /** Volts at the heaters. */
  volts: number;
}

/** Exhaust by bank: oxygen in the mixed gas, its way to the sensor, the sensor. Pressure in Pa. */
export class Exhaust {
  pressure = 101_325;
  /** Sensor voltage ahead of and behind the catalyst, by bank. */
  readonly front: Float64Array;
  readonly rear: Float64Array;
  /** Sensor temperature as a share of working, 0 to 1. */
  warm = 0;
  catalystC = 20;
  /** Undone ahead of the catalyst: nothing behind it resists. */
  opened = false;
  #flow = 0;
  #mass = 0;
  readonly #mixed: Float64Array;
  readonly #ring: Float64Array[];
  readonly #at: Int32Array;
  readonly #filtered: Float64Array;
  readonly #stored: Float64Array;
  readonly #bankOf: Uint8Array;
  readonly #delay: number;
  readonly #banks: number;
  readonly #size: number;

  constructor(vehicle: BenchVehicle) {
    const banks = Math.max(...vehicle.bankOf) + 1;
    this.#banks = banks;
    this.#size = vehicle.displacementL;
    this.front = new Float64Array(banks).fill(0.45);
    this.rear = new Float64Array(banks).fill(0.45);
    this.#mixed = new Float64Array(banks).fill(1.2);
    this.#filtered = new Float64Array(banks).fill(1.2);
    this.#stored = new Float64Array(banks).fill(0.5);
    this.#ring = Array.from({ length: banks }, () => new Float64Array(ringSize).fill(1.2));
    this.#at = new Int32Array(banks);
    this.#bankOf = Uint8Array.from(vehicle.firingOrder, (c) => vehicle.bankOf[c - 1] ?? 0);
    // Two cycles of the bank from valve to sensor.
    this.#delay = Math.round((2 * vehicle.firingOrder.length) / banks);
  }

  /** Grams a second through the tail pipe. */
  get flow(): number {
    return this.#flow * 1000;
  }

  /** One cylinder's exhaust. The sensor sees free oxygen, so what did not burn reads lean. */
  packet(k: number, air: number, fuel: number, lambda: number): void {
    const bank = this.#bankOf[k] ?? 0;
    const mixed = this.#mixed[bank] ?? 1;
    this.#mixed[bank] = mixed + (Math.min(2.5, lambda) - mixed) * 0.4;
    const at = ((this.#at[bank] ?? 0) + 1) % ringSize;
    this.#at[bank] = at;
    const ring = this.#ring[bank];
    if (ring !== undefined) ring[at] = this.#mixed[bank] ?? 1;
    this.#mass += air + fuel;
  }

  step(dt: number, { rpm, ambient, volts }: ExhaustDrive, damage: Damage): void {
    this.#flow += (this.#mass / dt - this.#flow) * Math.min(1, dt / 0.1);
    this.#mass = 0;
    // With the square of the flow: 1.5 kPa at 8 g/s and litre, well inside the published limits.
    const perLitre = this.#flow / this.#size;
    const block = this.opened ? 1 : damage.exhaustBlock;
    this.pressure = ambient + Math.min(800_000, 2.2e7 * block * perLitre * perLitre);
    const heating = volts > 8 && rpm > 0 ? 1 / 14 : 0;
    this.warm += heating > 0 ? (1 - this.warm) * heating * dt : (-this.warm * dt) / 90;
    const goal = rpm > 0 ? 380 + 25_000 * perLitre : 20;
    this.catalystC += ((goal - this.catalystC) * dt) / (rpm > 0 ? 70 : 900);
    for (let bank = 0; bank < this.#banks; bank++) this.#sense(bank, dt, damage);
  }

  #sense(bank: number, dt: number, damage: Damage): void {
    const ring = this.#ring[bank];
    const at = ((this.#at[bank] ?? 0) + ringSize - this.#delay) % ringSize;
    let reached = ring?.[at] ?? 1;
    // Pulses draw air in through a crack; the steadier the stream, the less.
    if (bank === 0) reached += (0.3 * damage.exhaustAir) / (1 + (this.#flow * 1000) / (1.5 * this.#size));
    const was = this.#filtered[bank] ?? 1;
    const lambda = was + (reached - was) * Math.min(1, dt / 0.06);
    this.#filtered[bank] = lambda;
    const awake = Math.min(1, Math.max(0, (this.warm - 0.45) / 0.3));
    const seen = 0.45 + 0.4 * Math.tanh((1 - lambda) * 45) + (bank === 0 ? damage.oxygenBias : 0);
    const alive = bank === 0 && damage.oxygenDead ? 0 : awake;
    this.front[bank] = Math.max(0.02, 0.45 + (seen - 0.45) * alive);
    // The catalyst stores oxygen: the rear sensor follows its fill slowly.
    const store = this.#stored[bank] ?? 0.5;
    const next = Math.min(1, Math.max(0, store + (lambda - 1) * this.#flow * 12 * dt));
    this.#stored[bank] = next;
    const rear = 0.12 + 0.68 * (1 - next);
    this.rear[bank] = 0.45 + (rear - 0.45) * awake * Math.min(1, this.catalystC / 300);
  }
}
