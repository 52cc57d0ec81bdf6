/** The vehicle in the shop: turned, started and looked at as a mechanic would, on a clock of its own. */
import { Bench, benchVehicle, type BenchVehicle } from "../../adapters/bench/index.ts";
import type { Damage } from "../../adapters/bench/damage.ts";
import type { BenchFault } from "../../shared/address.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";

export interface Running {
  readonly bench: Bench;
  readonly pass: (seconds: number) => void;
}

export interface Turned {
  /** Fired at all, and how long it ran, seconds. */
  readonly fired: boolean;
  readonly ranS: number;
  readonly there: Running;
}

/** Cranking without fuel, as by a remote switch: means after the first second. */
export interface Turning {
  readonly rpm: number;
  readonly amp: number;
}

/** What holds for a start: the person's pedal, booster, relay swapped, exhaust opened, fuel added. */
export interface Helped {
  readonly pedal?: number;
  readonly booster?: boolean;
  readonly relay?: boolean;
  readonly exhaust?: boolean;
  readonly fuel?: boolean;
  /** Longest crank, seconds. */
  readonly crankS?: number;
  /** How long it is let to run, seconds. */
  readonly runS?: number;
}

const running = 480;

export class ShopVehicle {
  readonly vehicle: BenchVehicle;
  readonly seed: number;
  faults: readonly BenchFault[];
  #trial = 0;

  constructor(vehicle: string, faults: readonly BenchFault[], seed: number) {
    this.vehicle = benchVehicle(vehicle);
    this.faults = faults;
    this.seed = seed;
  }

  get facts(): VehicleFacts {
    const v = this.vehicle;
    return {
      fuel: v.fuel,
      metering: v.metering,
      cylinders: v.firingOrder.length,
      displacementL: v.displacementL,
      banks: Math.max(...v.bankOf) + 1,
      idleRpm: v.idleRpm,
      fuelPressureKPa: { low: v.railPressure * 0.92, high: v.railPressure * 1.08 },
    };
  }

  /** A cold or warm vehicle with key off; chance falls anew each time. */
  fresh(coolantC = 20, healthy = false): Running {
    let now = 0;
    this.#trial += 1;
    const clock = { now: () => now, wall: () => 0, after: () => () => undefined };
    const seed = (this.seed * 7919 + this.#trial * 104_729) >>> 0;
    const faults = healthy ? [] : this.faults;
    const bench = new Bench({ vehicle: this.vehicle.id, faults, seed, clock, coldStartC: coolantC });
    const pass = (seconds: number): void => {
      now += seconds * 1000;
      bench.catchUp();
    };
    return { bench, pass };
  }

  get damage(): Damage {
    return this.fresh().bench.engine.damage;
  }

  /** Key on, crank until it runs or the crank is over, then let it run. */
  start(helped: Helped = {}, healthy = false): Turned {
    const there = this.fresh(20, healthy);
    const { bench, pass } = there;
    if (helped.booster === true) bench.act({ act: "booster", on: true });
    if (helped.relay === true) bench.act({ act: "relay-swap", on: true });
    if (helped.exhaust === true) bench.act({ act: "exhaust-open", on: true });
    bench.act({ act: "key", to: "on" });
    pass(2.5);
    if (helped.pedal !== undefined) bench.act({ act: "pedal", to: helped.pedal });
    if (helped.fuel === true) bench.act({ act: "add-fuel", seconds: 4 });
    bench.act({ act: "key", to: "crank" });
    let heard = 0;
    const most = helped.crankS ?? 6;
    for (let t = 0; t < most && heard < 3; t += 0.1) {
      pass(0.1);
      heard = bench.engine.rpm > running ? heard + 1 : 0;
    }
    bench.act({ act: "key", to: "on" });
    if (helped.pedal === 1) bench.act({ act: "pedal", to: 0 });
    let ranS = 0;
    const longest = helped.runS ?? 8;
    for (let t = 0; t < longest && heard >= 3; t += 0.25) {
      pass(0.25);
      if (bench.engine.rpm < 200) break;
      ranS += 0.25;
    }
    return { fired: heard >= 3, ranS, there };
  }

  /** Turned by the starter with the injectors unplugged. */
  turn(healthy = false, booster = false): Turning {
    const { bench, pass } = this.fresh(20, healthy);
    bench.engine.unplugged.fill(1);
    if (booster) bench.act({ act: "booster", on: true });
    bench.act({ act: "key", to: "on" });
    pass(0.5);
    bench.act({ act: "key", to: "crank" });
    pass(1);
    const sums = { rpm: 0, amp: 0 };
    for (let i = 0; i < 20; i++) {
      pass(0.1);
      sums.rpm += bench.engine.rpm / 20;
      sums.amp += bench.engine.electrics.starterAmp / 20;
    }
    return sums;
  }

  /** Does it start and keep running, so many times one after the other? */
  startsWell(helped: Helped = {}, times = 1): boolean {
    for (let i = 0; i < times; i++) {
      const one = this.start(helped);
      if (!one.fired || one.ranS < (helped.runS ?? 8) - 0.5) return false;
    }
    return true;
  }

  /** A warm engine at idle, or null when it does not get there. */
  idling(healthy = false): Running | null {
    const there = this.fresh(85, healthy);
    const { bench, pass } = there;
    bench.act({ act: "key", to: "on" });
    pass(2);
    bench.act({ act: "key", to: "crank" });
    for (let t = 0; t < 6 && bench.engine.rpm < running; t += 0.1) pass(0.1);
    pass(0.3);
    bench.act({ act: "key", to: "on" });
    pass(12);
    return bench.engine.rpm > 300 ? there : null;
  }
}

/** Mean and spread of engine speed over some seconds. */
export function listen({ bench, pass }: Running, seconds: number): { rpm: number; spread: number } {
  const values: number[] = [];
  for (let t = 0; t < seconds; t += 0.05) {
    pass(0.05);
    values.push(bench.engine.rpm);
  }
  const rpm = values.reduce((a, b) => a + b, 0) / values.length;
  const jumps = values.slice(1).map((v, i) => v - (values[i] ?? v));
  const spread = Math.sqrt(jumps.reduce((a, b) => a + b * b, 0) / jumps.length);
  return { rpm, spread };
}
