import type { Engine } from "../engine/engine.ts";
import type { CycleControl } from "../engine/orders.ts";
import { energyOf } from "../engine/burning.ts";
import type { Random } from "../random.ts";
import type { BenchVehicle } from "../vehicles.ts";
import { Codes } from "./codes.ts";
import { Diagnosis } from "./diagnosis.ts";
import { Governor } from "./diesel.ts";
import { Fuelling, loop } from "./fuelling.ts";
import { IdleControl } from "./idle.ts";
import { InUse } from "./inUse.ts";
import { MisfireWatch } from "./misfire.ts";
import { PurgeControl } from "./purge.ts";
import { Senses } from "./senses.ts";
import { CrankSense } from "./speed.ts";

export type Key = "off" | "on" | "crank";

/** Volts at which the module resets. ISO 16750-2 starting profiles go to 6 V and below (from memory). */
const resetVolts = 6.2;
/** The module lives on its capacitors so long, and takes so long to begin anew, s. */
const brownOutS = 0.03;
const bootS = 0.35;
/** Pump and main relay stay on so long without a crank signal (service manuals; common practice). */
const primeS = 2;

/**
 * The engine control module: what it senses, believes and orders. It sees the engine through its sensors only.
 * `tick` runs every 10 ms, `sense` every step, the cycle methods once a cylinder and cycle.
 */
export class ControlModule implements CycleControl {
  readonly vehicle: BenchVehicle;
  readonly crank: CrankSense;
  readonly senses: Senses;
  readonly idle: IdleControl;
  readonly fuelling: Fuelling;
  readonly governor: Governor;
  readonly misfire: MisfireWatch;
  readonly purge: PurgeControl;
  readonly diagnosis: Diagnosis;
  readonly inUse: InUse;
  readonly codes = new Codes();
  key: Key = "off";
  /** Pedal, 0 to 1, as the foot holds it. */
  pedal = 0;
  powered = false;
  /** How often it has begun anew. */
  boots = 0;
  running = false;
  sinceStart = -1;
  /** Share the throttle plate is open beyond idle. */
  throttlePlate = 0;
  advance = 0;
  accessory = false;
  /** The key was refused and fuel is withheld. */
  refused = false;
  /** Since the codes were cleared: kilometres, minutes running, warm-ups. */
  readonly sinceClear = { km: 1210, minutes: 2100, warmUps: 34 };
  #upS = 0;
  #primeS = 0;
  #lowS = 0;
  #fastS = 0;
  #firedS = 0;
  #accessoryS = 30;
  #clutchS = 0;
  /** What people and body switch on and off, A, and when it changes next. */
  #cabinAmp = 0;
  #cabinS = 0;
  #warmed = false;
  readonly #engine: Engine;
  readonly #random: Random;

  constructor(vehicle: BenchVehicle, engine: Engine, random: Random) {
    this.vehicle = vehicle;
    this.#engine = engine;
    this.#random = random;
    this.crank = new CrankSense(vehicle.firingOrder.length);
    this.senses = new Senses(engine, random);
    this.idle = new IdleControl(vehicle);
    this.fuelling = new Fuelling(engine, this.senses, random);
    this.governor = new Governor(vehicle, this.senses);
    this.misfire = new MisfireWatch(vehicle);
    this.purge = new PurgeControl(vehicle);
    this.inUse = new InUse(vehicle);
    this.diagnosis = new Diagnosis(engine);
  }

  /** Answers on the bus. */
  get awake(): boolean {
    return this.powered && this.#upS > 0;
  }

  /** A cam edge comes every cycle; it lags when the belt has slipped, crankshaft degrees. */
  get camSeen(): boolean {
    return this.#engine.damage.camSignal;
  }

  get camLag(): number {
    return this.#engine.damage.valveSlip;
  }

  /** Calculated load, share: of air for petrol, of fuel for diesel. */
  load(): number {
    if (this.vehicle.fuel === "petrol") return this.fuelling.load();
    return this.crank.rpm === 0 ? 0 : Math.min(1, this.governor.quantity / this.governor.most);
  }

  /** Every step: teeth, and the brown-out that resets the module. */
  sense(dt: number): void {
    const volts = this.#engine.electrics.moduleVolts;
    this.senses.volts += (volts - this.senses.volts) * Math.min(1, dt / 0.01);
    const before = this.#lowS;
    this.#lowS = volts < resetVolts ? before + dt : 0;
    if (this.#lowS > brownOutS) {
      if (before <= brownOutS) this.#boot();
      this.#upS = -bootS;
    }
    if (this.awake) this.crank.step(dt, this.#engine.shaft.turned, this.#engine.damage, this.#random);
  }

  #boot(): void {
    this.boots += 1;
    this.#upS = -bootS;
    this.crank.forget();
    this.running = false;
    this.sinceStart = -1;
    this.#primeS = 0;
    this.#firedS = 0;
    this.refused = false;
    this.governor.restart();
  }

  tick(dt: number): void {
    const on = this.key !== "off";
    if (on && !this.powered) {
      this.#boot();
      this.#accessoryS = 30;
    }
    if (!on && this.powered) this.misfire.endCycle();
    this.powered = on;
    if (on) this.#upS += dt;
    const { awake } = this;
    this.senses.read(this.#engine.omega === 0, this.sinceStart);
    if (awake) {
      this.#follow(dt);
    } else {
      this.running = false;
      this.sinceStart = -1;
      this.accessory = false;
      this.crank.reset();
      this.fuelling.rest();
    }
    this.#order(dt, awake);
  }

  #follow(dt: number): void {
    const { rpm } = this.crank;
    this.#primeS += dt;
    this.#fastS = rpm > 430 && this.crank.synced ? this.#fastS + dt : 0;
    if (!this.running && this.#fastS > 0.25) this.#began();
    if (this.running && rpm < 250) {
      this.running = false;
      this.sinceStart = -1;
    }
    if (this.running) {
      this.sinceStart += dt;
      this.sinceClear.minutes += dt / 60;
      this.inUse.step(dt, this.#engine.road.kmh);
    }
    if (this.senses.coolantBelieved > 72 && this.running && !this.#warmed) {
      this.#warmed = true;
      this.sinceClear.warmUps += 1;
    }
    this.sinceClear.km += (this.#engine.road.kmh * dt) / 3600;
    this.#guard(dt, rpm);
    const released = this.vehicle.throttle === "cable" ? this.senses.plate < 0.02 : this.pedal < 0.02;
    this.#accessorise(dt);
    const { sinceStart, running } = this;
    const coolantC = this.senses.coolantBelieved;
    const rolling = this.#engine.road.kmh > 2;
    this.idle.step(dt, { sinceStart, rpm, coolantC, released, loaded: this.accessory, rolling });
    const { targetRpm } = this.idle;
    if (this.vehicle.fuel === "petrol")
      this.fuelling.step(dt, { rpm, running, sinceStart, released, targetRpm, rolling });
    else this.governor.step(dt, { rpm, running, pedal: this.pedal, targetRpm });
    const closedLoop = this.fuelling.loopStatus === loop.closed;
    const first = this.fuelling.trims[0];
    const trim = first === undefined ? 0 : first.short + first.longNow;
    this.purge.step(dt, { closedLoop, coolantC, released, trim });
    this.advance = this.#timing(rpm, released);
    this.diagnosis.judge(dt, this);
  }

  #began(): void {
    this.running = true;
    this.sinceStart = 0;
    this.misfire.beginCycle();
    this.diagnosis.beginCycle();
    this.inUse.beginCycle();
  }

  /** A key that is not accepted: no fuel at all, or fuel for a second. */
  #guard(dt: number, rpm: number): void {
    if (!this.#engine.damage.immobilised) {
      this.refused = false;
      return;
    }
    if (rpm > 430) this.#firedS += dt;
    this.refused = this.vehicle.immobiliser === "no-start" ? true : this.#firedS > 1.1;
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

  #timing(rpm: number, released: boolean): number {
    if (!this.running) return 8;
    if (released && rpm < this.idle.targetRpm + 350) {
      return 12 + Math.max(-9, Math.min(9, 0.1 * (this.idle.targetRpm - rpm)));
    }
    const base = Math.min(38, 14 + 8e-3 * Math.max(0, Math.min(rpm, 3500) - 700));
    return base - 12 * Math.max(0, this.load() - 0.35);
  }

  injection(position: number): number {
    if (!this.crank.synced || !this.awake || this.refused) return 0;
    return this.vehicle.fuel === "petrol" ? this.fuelling.injection(position) : this.governor.injection();
  }

  spark(position: number): number {
    if (!this.crank.synced || !this.awake) return Number.NaN;
    this.#watchMisfire(position);
    return this.advance;
  }

  #watchMisfire(position: number): void {
    const v = this.vehicle;
    const petrol = v.fuel === "petrol";
    const fuel = petrol ? this.fuelling.airBelieved / 14.6 : this.governor.quantity;
    const expected = fuel * energyOf[v.fuel] * (petrol ? 0.28 : 0.37);
    const on = this.running && this.sinceStart > 2.5 && !this.fuelling.cut && fuel > 0;
    for (const window of this.misfire.deadCentre(position, this.#engine.omega, expected, on)) {
      this.diagnosis.misfires(window, this);
    }
  }

  /** Clears codes and all that was learned since. */
  clear(): void {
    this.codes.clear();
    this.diagnosis.clear();
    this.misfire.averages.fill(0);
    this.misfire.beginCycle();
    for (const t of this.fuelling.trims) t.forget();
    Object.assign(this.sinceClear, { km: 0, minutes: 0, warmUps: 0 });
  }

  #order(dt: number, awake: boolean): void {
    const { orders, heat } = this.#engine;
    const v = this.vehicle;
    const fed = awake && (this.crank.rpm > 0 || this.#primeS < primeS);
    orders.pump = fed;
    orders.relay = fed;
    orders.purgeArea = awake && this.running ? this.purge.area : 0;
    orders.egr = awake && this.running ? this.governor.egr : 0;
    orders.idleArea = awake ? this.idle.area : v.idleAreaMin;
    this.throttlePlate += (this.pedal ** 1.25 - this.throttlePlate) * Math.min(1, dt / 0.06);
    orders.throttle = v.fuel === "petrol" ? this.throttlePlate : 0;
    const warm = Math.min(1, Math.max(0, (this.senses.coolantBelieved - 20) / 70));
    orders.chargeVolts = 14.6 - 0.6 * warm;
    // Air is raised first, the clutch follows half a second later (common practice).
    this.#clutchS = this.accessory ? this.#clutchS + dt : 0;
    orders.accessory = this.#clutchS > 0.5;
    orders.glow = awake && v.fuel === "diesel" ? this.governor.glow : 0;
    if (this.senses.coolantBelieved > 97) heat.fan = true;
    else if (this.senses.coolantBelieved < 92 || !this.running) heat.fan = false;
    orders.loadAmp = this.#loadAmp(dt);
    if (this.running && this.#engine.road.gear > 0) this.#engine.road.shift(this.pedal);
  }

  #loadAmp(dt: number): number {
    const { orders, heat } = this.#engine;
    if (this.key === "off") return 0.03;
    this.#cabinS -= dt;
    if (this.#cabinS <= 0) {
      this.#cabinS = 4 + 20 * this.#random.next();
      this.#cabinAmp = 14 * this.#random.next() ** 2;
    }
    const running = this.running ? this.vehicle.runningAmp - 5.5 + this.#cabinAmp : 0;
    const fan = heat.fan && this.running ? 14 : 0;
    return 5.5 + (orders.pump ? 6 : 0) + running + fan + (this.accessory ? 4 : 0) + 55 * orders.glow;
  }
}
