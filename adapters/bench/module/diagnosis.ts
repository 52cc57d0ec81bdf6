import type { Engine } from "../engine/engine.ts";
import type { BenchVehicle } from "../vehicles.ts";
import type { Codes } from "./codes.ts";
import { loop, type Fuelling } from "./fuelling.ts";
import type { InUse } from "./inUse.ts";
import type { MisfireWindow } from "./misfire.ts";
import { OxygenWatch } from "./oxygen.ts";
import type { Senses } from "./senses.ts";
import type { CrankSense } from "./speed.ts";

/** What a module knows and judges itself by. */
export interface Judged {
  readonly key: "off" | "on" | "crank";
  readonly running: boolean;
  readonly sinceStart: number;
  /** The key was refused and fuel is withheld. */
  readonly refused: boolean;
  readonly crank: CrankSense;
  readonly camSeen: boolean;
  readonly camLag: number;
  readonly senses: Senses;
  readonly fuelling: Fuelling;
  readonly inUse: InUse;
  readonly codes: Codes;
}

/** Monitors by bit of bytes C and D: catalyst, evaporative, oxygen sensor and its heater; boost, gas sensor, EGR. */
export const fittedMonitors = { petrol: 0x65, diesel: 0xa8 } as const;

/** Seconds of its condition that each monitor needs: bit, seconds, condition. */
type Monitor = readonly [bit: number, seconds: number, when: (m: Judged) => boolean];
const monitors: Readonly<Record<"petrol" | "diesel", readonly Monitor[]>> = {
  petrol: [
    [0x40, 100, (m) => m.running],
    [0x20, 90, (m) => m.fuelling.loopStatus === loop.closed],
    [0x01, 45, (m) => m.crank.rpm > 1700 && m.senses.coolantBelieved > 70],
    [0x04, 600, (m) => m.running && m.senses.coolantBelieved > 70],
  ],
  diesel: [
    [0x20, 120, (m) => m.running],
    [0x80, 200, (m) => m.running && m.senses.coolantBelieved > 60],
    [0x08, 40, (m) => m.crank.rpm > 1700],
  ],
};

/**
 * Which conditions the module can judge from what it senses, and the codes they lead to; readiness. It never looks
 * at the engine's damage. Code meanings: SAE J2012 paraphrased, from memory; times are common practice.
 */
export class Diagnosis {
  /** Monitors not complete since the codes were cleared, and in this driving cycle, by bit. */
  open = 0;
  openThisCycle = 0;
  /** Front and rear sensor by bank. */
  readonly oxygen: readonly { readonly front: OxygenWatch; readonly rear: OxygenWatch }[];
  /** Seconds each monitor has had of its condition. */
  readonly #done = new Map<number, number>();
  readonly #vehicle: BenchVehicle;
  readonly #engine: Engine;
  #noSpeedS = 0;
  #breaks = 0;

  constructor(engine: Engine) {
    this.#vehicle = engine.vehicle;
    this.#engine = engine;
    this.openThisCycle = fittedMonitors[engine.vehicle.fuel];
    const banks = engine.vehicle.fuel === "petrol" ? Math.max(...engine.vehicle.bankOf) + 1 : 0;
    this.oxygen = Array.from({ length: banks }, () => ({
      front: new OxygenWatch(),
      rear: new OxygenWatch(),
    }));
  }

  beginCycle(): void {
    this.openThisCycle = fittedMonitors[this.#vehicle.fuel];
    this.#done.clear();
  }

  clear(): void {
    this.open = fittedMonitors[this.#vehicle.fuel];
    for (const { front, rear } of this.oxygen) {
      front.clear();
      rear.clear();
    }
    this.beginCycle();
  }

  /** Every 10 ms while the module is awake. */
  judge(dt: number, m: Judged): void {
    for (const [bit, seconds, when] of monitors[this.#vehicle.fuel]) {
      if ((this.openThisCycle & bit) === 0 || !when(m)) continue;
      const done = (this.#done.get(bit) ?? 0) + dt;
      this.#done.set(bit, done);
      if (done < seconds) continue;
      this.openThisCycle &= ~bit;
      m.inUse.completed(bit);
      this.open &= ~bit;
    }
    this.#signals(dt, m);
    this.#sensors(dt, m);
    this.#supply(dt, m);
    if (this.#vehicle.fuel === "petrol") this.#mixture(dt, m);
    else m.codes.judge(0x0087, m.running && m.senses.railKpa < 0.7 * this.#vehicle.railPressure, dt, 2);
  }

  #signals(dt: number, m: Judged): void {
    const { crank, codes } = m;
    // Speed that never comes while the starter is asked for; it takes several seconds of cranking.
    this.#noSpeedS = m.key === "crank" && crank.rpm === 0 ? this.#noSpeedS + dt : 0;
    codes.judge(0x0335, this.#noSpeedS > 1, dt, 3);
    if (crank.breaks > this.#breaks && m.key !== "off" && crank.rpm > 0) {
      codes.judge(0x0336, true, 1, 6);
    }
    this.#breaks = crank.breaks;
    if (crank.seen > 1500) {
      codes.judge(0x0340, !m.camSeen, dt, 1);
      // Crank and cam edges apart by more than the belt can stretch.
      codes.judge(0x0016, m.camSeen && m.camLag > 9, dt, 2);
    }
  }

  #sensors(dt: number, m: Judged): void {
    const { senses: s, codes } = m;
    codes.judge(0x0118, s.coolantC <= -40, dt, 1);
    codes.judge(0x0117, s.coolantC >= 140, dt, 1);
    codes.judge(0x0128, m.sinceStart > 800 && s.coolantC > -39 && s.coolantC < 68, dt, 20);
    codes.judge(0x0123, s.throttle > 0.93, dt, 1);
    // The plate is said to be open and the engine idles: one of the two is wrong.
    const idling = m.running && m.crank.rpm < 1100 && m.sinceStart > 5;
    codes.judge(0x0121, idling && s.plate > 0.4, dt, 5);
    if (this.#vehicle.metering === "manifold-pressure" && this.#vehicle.fuel === "petrol") {
      codes.judge(0x0106, idling && s.plate < 0.1 && s.manifoldKpa > 80, dt, 4);
    }
  }

  #supply(dt: number, m: Judged): void {
    const { senses: s, codes } = m;
    codes.judge(0x0562, m.running && s.volts < 12, dt, 20);
    codes.judge(0x0685, this.#engine.orders.relay && s.relayVolts < 3 && s.volts > 7, dt, 0.5);
    codes.judge(0x0513, m.refused, dt, 0.5);
    // Driver lines: an open injector or coil primary draws no current. A weak coil looks whole.
    const driven = m.running && this.#engine.orders.relay && s.relayVolts > 8;
    for (let c = 0; c < this.#vehicle.firingOrder.length; c++) {
      codes.judge(0x0201 + c, driven && !this.#engine.injectorDraws(c), dt, 2);
      if (this.#vehicle.fuel === "petrol")
        codes.judge(0x0351 + c, driven && !this.#engine.coilDraws(c), dt, 2);
    }
  }

  #mixture(dt: number, m: Judged): void {
    const { codes, fuelling } = m;
    codes.judge(0x0134, m.sinceStart > 60 && (fuelling.sensorStillS[0] ?? 0) > 30, dt, 10);
    if (fuelling.loopStatus !== loop.closed) return;
    this.oxygen.forEach(({ front, rear }, bank) => {
      front.step(dt, this.#engine.exhaust.front[bank] ?? 0.45);
      rear.step(dt, this.#engine.exhaust.rear[bank] ?? 0.45);
    });
    fuelling.trims.forEach((t, bank) => {
      const sum = (t.short + t.longNow) * 100;
      codes.judge(bank === 0 ? 0x0171 : 0x0174, sum > 25, dt, 20);
      codes.judge(bank === 0 ? 0x0172 : 0x0175, sum < -25, dt, 20);
      const volts = this.#engine.exhaust.front[bank] ?? 0.45;
      // Full enrichment and still no rich reading: the sensor is not believed.
      const low = volts < 0.15 && sum >= this.#vehicle.trimLimit;
      codes.judge(bank === 0 ? 0x0131 : 0x0151, low, dt, 20);
    });
  }

  /** More than 90 % in one cylinder names it; several above a tenth each name the general code too. */
  misfires(window: MisfireWindow, m: Judged): void {
    const all = window.counts.reduce((a, b) => a + b, 0);
    const share = all / window.firings;
    const limit = window.kind === "short" ? 0.1 : 0.02;
    if (share < limit) return;
    const tell = (code: number): void => {
      if (window.kind === "short") m.codes.store(code);
      else m.codes.seen(code);
    };
    const named = window.counts.map((n, i) => [n / all, i] as const).filter(([part]) => part > 0.1);
    if (named.length !== 1 || (named[0]?.[0] ?? 0) < 0.9) tell(0x0300);
    for (const [, cylinder] of named) tell(0x0301 + cylinder);
  }
}
