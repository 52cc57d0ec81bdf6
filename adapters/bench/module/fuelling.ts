import { fillShare, gasConstant } from "../engine/air.ts";
import type { Engine } from "../engine/engine.ts";
import { deadTime } from "../engine/mixture.ts";
import type { Random } from "../random.ts";
import type { BenchVehicle } from "../vehicles.ts";
import type { Senses } from "./senses.ts";
import { Trims } from "./trims.ts";

/** Fuel system status as service 01 parameter 03 codes it. */
export const loop = { off: 0x00, cold: 0x01, closed: 0x02, load: 0x04, fault: 0x08 } as const;

const stoichiometric = 14.6;
/** Fuel is cut above this speed, to save the engine. */
const mostRpm = 5900;

export interface FuelState {
  readonly rpm: number;
  readonly running: boolean;
  readonly sinceStart: number;
  readonly released: boolean;
  readonly targetRpm: number;
  readonly rolling: boolean;
}

/** Air and fuel of a petrol engine as its module reckons them: from the meter or from manifold pressure. */
export class Fuelling {
  readonly trims: readonly Trims[];
  loopStatus: number = loop.off;
  lambdaWanted = 1;
  /** Air of one cylinder and cycle as the module believes, kg. */
  airBelieved = 0;
  /** Fuel is cut on overrun. */
  cut = false;
  /** A front sensor has been seen to work; seconds that each has not moved. */
  sensorAwake = false;
  readonly sensorStillS: Float64Array;
  #running = false;
  #sinceStart = -1;
  #rpm = 0;
  #crankedDegrees = 0;
  #steadyS = 9;
  #inZoneS = 0;
  #zoneBefore = 0;
  readonly #zoneOffset: Float64Array;
  readonly #engine: Engine;
  readonly #senses: Senses;
  readonly #vehicle: BenchVehicle;

  constructor(engine: Engine, senses: Senses, random: Random) {
    this.#engine = engine;
    this.#senses = senses;
    this.#vehicle = engine.vehicle;
    const banks = Math.max(...engine.vehicle.bankOf) + 1;
    this.trims = Array.from({ length: banks }, () => new Trims(4, engine.vehicle.trimLimit));
    this.sensorStillS = new Float64Array(banks);
    // A real calibration is a few per cent off in each zone; the long trims are there to learn it.
    this.#zoneOffset = Float64Array.from({ length: 4 }, () => 1 + 0.022 * random.normal());
  }

  /** Air per cylinder and cycle that fills it, kg at 1.184 g/L. */
  get #full(): number {
    return (1.184e-3 * this.#vehicle.displacementL) / this.#vehicle.firingOrder.length;
  }

  /** Calculated load, share of what the engine could take at this speed and barometric pressure. */
  load(): number {
    if (this.#rpm === 0) return 0;
    return Math.min(1, this.airBelieved / (this.#full * 0.88 * (this.#senses.barometricKpa / 101.3)));
  }

  /** Air per intake stroke over 1.184 g/L times the cylinder's litres. */
  absoluteLoad(): number {
    return this.#rpm === 0 ? 0 : this.airBelieved / this.#full;
  }

  /** Every 10 ms. */
  step(dt: number, state: FuelState): void {
    this.#rpm = state.rpm;
    this.#running = state.running;
    this.#sinceStart = state.sinceStart;
    if (state.rpm === 0) this.#crankedDegrees = 0;
    // Fuel is cut on overrun and comes back above idle (common practice).
    const over = state.rpm - state.targetRpm;
    if (!state.released || over < (state.rolling ? 180 : 650)) this.cut = false;
    else if (state.sinceStart > 4 && over > (state.rolling ? 320 : 1500)) this.cut = true;
    if (state.rpm > mostRpm) this.cut = true;
    this.#believe(state);
    this.#closeLoop(dt, state);
  }

  rest(): void {
    this.loopStatus = loop.off;
    this.#rpm = 0;
    for (const t of this.trims) t.open();
  }

  #believe(state: FuelState): void {
    const v = this.#vehicle;
    const s = this.#senses;
    const cylinders = v.firingOrder.length;
    const volume = (v.displacementL * 1e-3) / cylinders;
    const kelvin = s.intakeC + 273.15;
    const zone = this.#zone(state);
    for (const t of this.trims) t.zone = zone;
    const offset = this.#zoneOffset[zone] ?? 1;
    if (!state.running) {
      // Manifold pressure is not trusted while cranking on a metered-flow engine: barometric stands in.
      const kpa = v.metering === "air-flow" ? s.barometricKpa * 0.9 : s.manifoldKpa;
      this.airBelieved = (0.72 * volume * kpa * 1000) / (gasConstant * kelvin);
    } else if (v.metering === "air-flow") {
      this.airBelieved = (s.airFlow * 1e-3 * 120 * offset) / (Math.max(state.rpm, 300) * cylinders);
    } else {
      const pressure = s.manifoldKpa * 1000;
      const share = fillShare(state.rpm, pressure, s.barometricKpa * 1000, v.compression);
      this.airBelieved = (share * volume * pressure * offset) / (gasConstant * kelvin);
    }
  }

  #zone(state: FuelState): number {
    if (state.released && state.rpm < 1400) return 0;
    const load = this.load();
    return load < 0.35 ? 1 : load < 0.65 ? 2 : 3;
  }

  #closeLoop(dt: number, state: FuelState): void {
    const front = this.#engine.exhaust.front;
    front.forEach((volts, bank) => {
      const moved = Math.abs(volts - 0.45) > 0.12;
      this.sensorStillS[bank] = moved || !state.running ? 0 : (this.sensorStillS[bank] ?? 0) + dt;
      if (moved && bank === 0) this.sensorAwake = true;
    });
    // A sensor that stands still for long is no longer believed.
    if ((this.sensorStillS[0] ?? 0) > 25) this.sensorAwake = false;
    const heavy = this.#senses.plate > 0.7;
    const cold = this.#senses.coolantBelieved < 38 || !this.sensorAwake || state.sinceStart < 18;
    this.lambdaWanted = heavy ? 0.88 : 1;
    // After a cut or full load the exhaust tells of the past for a while.
    const settled = !this.cut && !heavy && this.trims[0]?.zone === this.#zoneBefore;
    this.#zoneBefore = this.trims[0]?.zone ?? 0;
    this.#steadyS = this.cut || heavy ? 0 : this.#steadyS + dt;
    this.#inZoneS = settled ? this.#inZoneS + dt : 0;
    if (!state.running) this.loopStatus = state.rpm > 0 ? loop.cold : loop.off;
    else if (this.cut || heavy || this.#steadyS < 1) this.loopStatus = loop.load;
    else if (cold) this.loopStatus = state.sinceStart > 120 && !this.sensorAwake ? loop.fault : loop.cold;
    else this.loopStatus = loop.closed;
    this.trims.forEach((trims, bank) => {
      if (this.loopStatus === loop.closed)
        trims.closed(dt, front[bank] ?? 0.45, state.rpm, this.#inZoneS > 2.5);
      else trims.open();
    });
  }

  /** Seconds the injector of this position in firing order is to be open. */
  injection(position: number): number {
    if (this.cut) return 0;
    const v = this.#vehicle;
    const s = this.#senses;
    // Clear-flood: pedal down while cranking stops injection (common practice: above 80 % below 400 rpm).
    if (!this.#running && s.plate > 0.8 && this.#rpm < 400) return 0;
    const cold = Math.exp(-(s.coolantBelieved + 20) / 35);
    let factor: number;
    if (!this.#running) {
      this.#crankedDegrees += 720 / v.firingOrder.length;
      factor = 1.3 + 2.2 * cold * (0.5 + 0.5 * Math.exp(-this.#crankedDegrees / 1800));
    } else {
      const after = 1.1 * Math.min(2, cold) * Math.exp(-this.#sinceStart / 7);
      const trim = this.trims[this.bank(position)]?.factor ?? 1;
      factor = ((1 + after + 0.26 * cold) / this.lambdaWanted) * trim;
    }
    const mass = (this.airBelieved / stoichiometric) * factor;
    const head = Math.max(50, v.railPressure + s.barometricKpa - s.manifoldKpa);
    const flow = v.injectorFlow * 1e-3 * Math.sqrt(head / v.railPressure);
    return mass / flow + deadTime(s.volts);
  }

  bank(position: number): number {
    return this.#vehicle.bankOf[(this.#vehicle.firingOrder[position] ?? 1) - 1] ?? 0;
  }
}
