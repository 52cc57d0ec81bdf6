import type { BenchVehicle } from "../vehicles.ts";

/** Monitor bits (bytes C and D of parameter 01) in the order in which service 09 counts them; null: not fitted. */
type Order = readonly (number | null)[];
const petrolOrder = (banks: number): Order => {
  const second = banks > 1;
  const [catalyst, oxygen, evaporative] = [0x01, 0x20, 0x04];
  return [
    ...[catalyst, second ? catalyst : null, oxygen, second ? oxygen : null, null, null, evaporative],
    ...[oxygen, second ? oxygen : null],
  ];
};
const dieselOrder: Order = [null, null, null, null, 0x20, 0x80, 0x08];

/**
 * In-use counters: how often the monitors have run against how often they could have. They outlive a clearing. When a
 * drive counts: ten minutes since the start, five of them above 40 km/h, half a minute of idling (13 CCR 1968.2(d)(4),
 * from memory). What stood on the counters before is invented.
 */
export class InUse {
  cycles: number;
  conditions: number;
  readonly #completed = new Map<number, number>();
  readonly #order: Order;
  readonly #counted = new Set<number>();
  #driveS = { all: 0, fast: 0, idle: 0 };
  #met = false;

  constructor(vehicle: BenchVehicle) {
    const old = vehicle.displacementL * 10;
    this.cycles = Math.round(300 + 13 * old);
    this.conditions = Math.round(140 + 5 * old);
    this.#order = vehicle.fuel === "diesel" ? dieselOrder : petrolOrder(Math.max(...vehicle.bankOf) + 1);
    for (const bit of this.#order) if (bit !== null) this.#completed.set(bit, this.conditions - bit);
  }

  beginCycle(): void {
    this.cycles += 1;
    this.#counted.clear();
    this.#met = false;
    this.#driveS = { all: 0, fast: 0, idle: 0 };
  }

  step(dt: number, kmh: number): void {
    if (this.#met) return;
    const s = this.#driveS;
    s.all += dt;
    if (kmh >= 40) s.fast += dt;
    if (kmh < 1.6) s.idle += dt;
    if (s.all < 600 || s.fast < 300 || s.idle < 30) return;
    this.#met = true;
    this.conditions += 1;
  }

  /** A monitor has run in this driving cycle. */
  completed(bit: number): void {
    if (this.#counted.has(bit)) return;
    this.#counted.add(bit);
    this.#completed.set(bit, (this.#completed.get(bit) ?? 0) + 1);
  }

  /** Numbers in the order of service 09: conditions, cycles, then completed and could-have by monitor. */
  get counters(): number[] {
    const pairs = this.#order.flatMap((bit) =>
      bit === null ? [0, 0] : [this.#completed.get(bit) ?? 0, this.conditions],
    );
    return [this.conditions, this.cycles, ...pairs];
  }
}
