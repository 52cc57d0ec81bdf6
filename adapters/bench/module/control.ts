import { fillShare, gasConstant } from "../engine/air.ts";
import type { CycleControl, Engine } from "../engine/engine.ts";
import { deadTime } from "../engine/mixture.ts";
import type { Random } from "../random.ts";
import type { BenchVehicle } from "../vehicles.ts";
import { Codes } from "./codes.ts";
import { IdleControl } from "./idle.ts";
import { CrankSense } from "./speed.ts";
import { Trims } from "./trims.ts";

export type Key = "off" | "on" | "crank";

/** Fuel system status as service 01 parameter 03 codes it. */
export const loop = { off: 0x00, cold: 0x01, closed: 0x02, load: 0x04 } as const;

const stoichiometric = 14.6;

/**
 * The engine control module: what it senses, believes and orders. It sees the engine through its sensors only.
 * `tick` runs every 10 ms, the cycle methods once a cylinder and cycle.
 */
export class ControlModule implements CycleControl {
  readonly vehicle: BenchVehicle;
  readonly crank: CrankSense;
  readonly idle: IdleControl;
  readonly trims: readonly Trims[];
  readonly codes = new Codes();
  key: Key = "off";
  /** Pedal, 0 to 1, as the foot holds it. */
  pedal = 0;
  powered = false;
  /** How often it has begun anew. */
  boots = 0;
  running = false;
  sinceStart = -1;
  loopStatus: number = loop.off;
  /** Sensed values. kPa, g/s, °C, V, share. */
  manifoldKpa = 101;
  barometricKpa = 101;
  airFlow = 0;
  coolantC = 20;
  intakeC = 20;
  volts = 12.6;
  throttlePlate = 0;
  advance = 0;
  lambdaWanted = 1;
  /** Air of one cylinder and cycle as the module believes, kg. */
  airBelieved = 0;
  accessory = false;
  /** Sensed throttle with the plate closed, share of the sensor's range: not 0 on any car. */
  readonly throttleClosed: number;
  /** Service 01 parameters 01 and 41: monitors not complete, by bit. */
  monitorsOpen = 0;
  /** Seconds that power has been on; negative while it boots. */
  #upS = 0;
  #primeS = 0;
  #lowS = 0;
  #fastS = 0;
  #crankedDegrees = 0;
  #sensorAwake = false;
  #cut = false;
  #accessoryS = 30;
  #noSpeedS = 0;
  readonly #zoneOffset: Float64Array;
  readonly #engine: Engine;
  readonly #random: Random;

  constructor(vehicle: BenchVehicle, engine: Engine, random: Random) {
    this.vehicle = vehicle;
    this.#engine = engine;
    this.#random = random;
    this.crank = new CrankSense(vehicle.firingOrder.length);
    this.idle = new IdleControl(vehicle);
    this.throttleClosed = vehicle.throttle === "electronic" ? 0.125 : 0.14;
    const banks = Math.max(...vehicle.bankOf) + 1;
    this.trims = Array.from({ length: banks }, () => new Trims(4, vehicle.trimLimit));
    // A real calibration is a few per cent off in each zone; the long trims are there to learn it.
    this.#zoneOffset = Float64Array.from({ length: 4 }, () => 1 + 0.022 * random.normal());
  }

  /** Throttle as the sensor gives it: an electronic one shows the plate's idle opening too, a cable one does not. */
  get throttleReading(): number {
    const electronic = this.vehicle.throttle === "electronic";
    const idle = electronic ? (this.idle.area / this.vehicle.throttleArea) ** (1 / 1.7) : 0;
    const open = electronic ? Math.min(1, this.throttlePlate + idle) : this.throttlePlate;
    return this.throttleClosed + 0.73 * open;
  }

  /** Answers on the bus. */
  get awake(): boolean {
    return this.powered && this.#upS > 0;
  }

  /** Every step: teeth, and the brown-out that resets the module. */
  sense(dt: number): void {
    const engine = this.#engine;
    const volts = engine.electrics.volts - engine.orders.loadAmp * 0.004;
    this.volts += (volts - this.volts) * Math.min(1, dt / 0.01);
    // ISO 16750-2 starting profiles go to 6 V and below; older modules reset there (from memory).
    this.#lowS = volts < 6.2 ? this.#lowS + dt : 0;
    if (this.#lowS > 0.03) this.#boot();
    if (this.awake) this.crank.step(dt, engine.turned, engine.damage, this.#random);
  }

  #boot(): void {
    this.boots += 1;
    this.#upS = -0.35;
    this.crank.reset();
    this.running = false;
    this.sinceStart = -1;
    this.#primeS = 0;
  }

  tick(dt: number): void {
    const on = this.key !== "off";
    if (on && !this.powered) this.#boot();
    this.powered = on;
    if (on) this.#upS += dt;
    const awake = this.awake;
    this.#read(awake);
    if (!awake) {
      this.running = false;
      this.sinceStart = -1;
      this.crank.reset();
      this.loopStatus = loop.off;
      this.trims.forEach((t) => t.open());
    } else {
      this.#follow(dt);
    }
    this.#order(dt, awake);
  }

  #read(awake: boolean): void {
    const engine = this.#engine;
    const random = this.#random;
    const noise = random.normal();
    this.manifoldKpa += (engine.manifold / 1000 + noise * 0.15 - this.manifoldKpa) * 0.5;
    this.airFlow += (engine.meteredFlow * 1000 * (1 + 0.006 * noise) - this.airFlow) * 0.35;
    this.coolantC = engine.heat.coolantC;
    this.intakeC = engine.heat.intakeC;
    if (awake && this.crank.rpm === 0 && engine.omega === 0) this.barometricKpa = this.manifoldKpa;
  }

  #follow(dt: number): void {
    const rpm = this.crank.rpm;
    this.#primeS += dt;
    this.#fastS = rpm > 430 && this.crank.synced ? this.#fastS + dt : 0;
    if (!this.running && this.#fastS > 0.25) {
      this.running = true;
      this.sinceStart = 0;
    }
    if (this.running && rpm < 250) {
      this.running = false;
      this.sinceStart = -1;
    }
    if (this.running) this.sinceStart += dt;
    if (rpm === 0) this.#crankedDegrees = 0;
    const released = this.pedal < 0.02;
    this.#accessorise(dt);
    this.idle.step(dt, {
      sinceStart: this.sinceStart,
      rpm,
      coolantC: this.coolantC,
      released,
      loaded: this.accessory,
    });
    // Fuel is cut on overrun and comes back above idle (common practice).
    if (!released || rpm < this.idle.targetRpm + 650) this.#cut = false;
    else if (this.sinceStart > 4 && rpm > this.idle.targetRpm + 1500) this.#cut = true;
    this.#believe(rpm);
    this.#closeLoop(dt, rpm);
    this.advance = this.#timing(rpm, released);
    this.#judge(dt);
  }

  /** The accessory cycles at warm idle; its clutch drops out under a heavy foot. */
  #accessorise(dt: number): void {
    const v = this.vehicle;
    if (this.sinceStart < 20 || this.pedal > 0.6) {
      this.accessory = false;
      return;
    }
    this.#accessoryS -= dt;
    if (this.#accessoryS > 0) return;
    this.accessory = !this.accessory;
    const mean = this.accessory ? v.accessoryOnS : v.accessoryOffS;
    this.#accessoryS = mean * (0.8 + 0.4 * this.#random.next());
  }

  #believe(rpm: number): void {
    const v = this.vehicle;
    const cylinders = v.firingOrder.length;
    const volume = (v.displacementL * 1e-3) / cylinders;
    const kelvin = this.intakeC + 273.15;
    const zone = this.#zone(rpm);
    for (const t of this.trims) t.zone = zone;
    const offset = this.#zoneOffset[zone] ?? 1;
    if (!this.running) {
      this.airBelieved = (0.72 * volume * this.manifoldKpa * 1000) / (gasConstant * kelvin);
    } else if (v.metering === "air-flow") {
      this.airBelieved = (this.airFlow * 1e-3 * 120 * offset) / (Math.max(rpm, 300) * cylinders);
    } else {
      const pressure = this.manifoldKpa * 1000;
      const share = fillShare(rpm, pressure, this.barometricKpa * 1000, v.compression);
      this.airBelieved = (share * volume * pressure * offset) / (gasConstant * kelvin);
    }
  }

  #zone(rpm: number): number {
    if (this.pedal < 0.02 && rpm < 1400) return 0;
    const load = this.load();
    return load < 0.35 ? 1 : load < 0.65 ? 2 : 3;
  }

  /** Calculated load, share of what the engine could take at this speed and barometric pressure. */
  load(): number {
    if (this.crank.rpm === 0) return 0;
    const v = this.vehicle;
    const volume = (v.displacementL * 1e-3) / v.firingOrder.length;
    const most = volume * 1.184 * 0.88 * (this.barometricKpa / 101.3);
    return Math.min(1, this.airBelieved / most);
  }

  /** Air per intake stroke over 1.184 g/L times the cylinder's litres. */
  absoluteLoad(): number {
    const v = this.vehicle;
    if (this.crank.rpm === 0) return 0;
    return this.airBelieved / (1.184e-3 * (v.displacementL / v.firingOrder.length));
  }

  #closeLoop(dt: number, rpm: number): void {
    const exhaust = this.#engine.exhaust;
    if (exhaust.front.some((volts) => Math.abs(volts - 0.45) > 0.12)) this.#sensorAwake = true;
    const heavy = this.throttlePlate > 0.7;
    const cold = this.coolantC < 38 || !this.#sensorAwake || this.sinceStart < 18;
    this.lambdaWanted = heavy ? 0.88 : 1;
    if (!this.running) this.loopStatus = rpm > 0 ? loop.cold : loop.off;
    else if (this.#cut || heavy) this.loopStatus = loop.load;
    else if (cold) this.loopStatus = loop.cold;
    else this.loopStatus = loop.closed;
    this.trims.forEach((trims, bank) => {
      if (this.loopStatus === loop.closed) trims.closed(dt, exhaust.front[bank] ?? 0.45, rpm);
      else trims.open();
    });
  }

  #timing(rpm: number, released: boolean): number {
    if (!this.running) return 8;
    if (released && rpm < this.idle.targetRpm + 350) {
      return 12 + Math.max(-9, Math.min(9, 0.06 * (this.idle.targetRpm - rpm)));
    }
    return (
      Math.min(38, 14 + 8e-3 * Math.max(0, Math.min(rpm, 3500) - 700)) - 12 * Math.max(0, this.load() - 0.35)
    );
  }

  injection(position: number): number {
    if (!this.crank.synced || !this.awake || this.#cut) return 0;
    const rpm = this.crank.rpm;
    // Clear-flood: pedal down while cranking stops injection (common practice: above 80 % below 400 rpm).
    if (!this.running && this.throttlePlate > 0.8 && rpm < 400) return 0;
    const v = this.vehicle;
    const cold = Math.exp(-(this.coolantC + 20) / 35);
    let factor: number;
    if (!this.running) {
      this.#crankedDegrees += 720 / v.firingOrder.length;
      factor = 1.3 + 2.2 * cold * (0.5 + 0.5 * Math.exp(-this.#crankedDegrees / 1800));
    } else {
      const after = 1.1 * cold * Math.exp(-this.sinceStart / 7);
      const trim = this.trims[this.#bank(position)]?.factor ?? 1;
      factor = ((1 + after + 0.26 * cold) / this.lambdaWanted) * trim;
    }
    const mass = (this.airBelieved / stoichiometric) * factor;
    const head = Math.max(50, v.railPressure + this.barometricKpa - this.manifoldKpa);
    const flow = v.injectorFlow * 1e-3 * Math.sqrt(head / v.railPressure);
    return mass / flow + deadTime(this.volts);
  }

  spark(): number {
    return this.crank.synced && this.awake ? this.advance : Number.NaN;
  }

  #bank(position: number): number {
    return this.vehicle.bankOf[(this.vehicle.firingOrder[position] ?? 1) - 1] ?? 0;
  }

  #order(dt: number, awake: boolean): void {
    const orders = this.#engine.orders;
    const v = this.vehicle;
    const seen = this.crank.rpm > 0;
    // The pump primes for two seconds and stops without a crank signal (service manuals, common practice).
    orders.pump = awake && (seen || this.#primeS < 2);
    orders.idleArea = awake ? this.idle.area : v.idleAreaMin;
    const plate = this.pedal ** 1.25;
    this.throttlePlate += (plate - this.throttlePlate) * Math.min(1, dt / 0.06);
    orders.throttle = this.throttlePlate;
    const warm = Math.min(1, Math.max(0, (this.coolantC - 20) / 70));
    orders.chargeVolts = 14.45 - 0.6 * warm;
    orders.accessory = this.accessory;
    const heat = this.#engine.heat;
    if (this.coolantC > 97) heat.fan = true;
    else if (this.coolantC < 92 || !this.running) heat.fan = false;
    orders.loadAmp =
      this.key === "off"
        ? 0.03
        : 5.5 +
          (orders.pump ? 6 : 0) +
          (this.running ? v.runningAmp - 5.5 : 0) +
          (heat.fan && this.running ? 14 : 0) +
          (this.accessory ? 4 : 0);
  }

  #judge(dt: number): void {
    this.#noSpeedS = this.key === "crank" && this.crank.rpm === 0 ? this.#noSpeedS + dt : 0;
    // Speed that never comes while the starter is asked for; it takes several seconds of cranking.
    this.codes.judge(0x0335, this.#noSpeedS > 1, dt, 3);
    this.codes.judge(0x0562, this.running && this.volts < 11.5, dt, 10);
    if (this.loopStatus !== loop.closed) return;
    this.trims.forEach((t, bank) => {
      const sum = (t.short + t.longNow) * 100;
      this.codes.judge(bank === 0 ? 0x0171 : 0x0174, sum > 25, dt, 20);
      this.codes.judge(bank === 0 ? 0x0172 : 0x0175, sum < -25, dt, 20);
    });
  }
}
