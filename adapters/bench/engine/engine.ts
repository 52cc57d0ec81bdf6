import { soundLeak, type Damage } from "../damage.ts";
import type { Random } from "../random.ts";
import type { BenchVehicle } from "../vehicles.ts";
import { fillShare, gasConstant, pressureAt, residualShare } from "./air.ts";
import { airNeed, burnChance, burnShare, energyOf, type Charge } from "./burning.ts";
import { Electrics, type ElectricLoad } from "./electrics.ts";
import { Exhaust } from "./exhaust.ts";
import { cycleDegrees, cycleTables, type CycleTables } from "./geometry.ts";
import { frictionTorque } from "./friction.ts";
import { Heat } from "./heat.ts";
import { drawnBack, leaked, pastRings, ringGap } from "./leak.ts";
import { Manifold, type ManifoldDrive } from "./manifold.ts";
import { Mixture } from "./mixture.ts";
import { noOrders, type CycleControl, type Orders } from "./orders.ts";
import { boosted } from "./turbo.ts";
import { Road } from "./road.ts";
import { Shaft, type ShaftDrive } from "./shaft.ts";
import { Sparks } from "./sparks.ts";

/** A binding of this file: it is looked up a dozen times in a step. */
const cycle = cycleDegrees;

export interface EngineOptions {
  readonly vehicle: BenchVehicle;
  readonly damage: Damage;
  readonly random: Random;
  /** Coolant and oil at the start, and the air around, °C. */
  readonly startC: number;
  readonly ambientC: number;
}

/**
 * The engine: crankshaft, gas and heat, advanced in steps of a millisecond. Crank-angle resolved in torque and
 * breathing; fuel and burning per cylinder and cycle; exhaust and heat as mean values.
 */
export class Engine {
  readonly vehicle: BenchVehicle;
  readonly electrics: Electrics;
  readonly exhaust: Exhaust;
  readonly heat: Heat;
  readonly mixture: Mixture;
  readonly manifold: Manifold;
  readonly shaft: Shaft;
  readonly road: Road;
  readonly orders: Orders = noOrders();
  damage: Damage;
  /** Injector plugs pulled off, by cylinder number from 0. */
  readonly unplugged: Uint8Array;
  readonly sparks: Sparks;

  /** Crank angle of the first cylinder in firing order, degrees in its cycle. */
  angle = 130;
  starterOn = false;
  readonly ambient = pressureAt(40);
  /** Pressure behind the turbo, Pa; ambient without one. */
  source: number;

  /** Per position in firing order: fresh air of this cycle kg; burned this cycle; highest pressure, Pa. */
  readonly air: Float64Array;
  readonly burned: Uint8Array;
  readonly peak: Float64Array;
  /** Per position: seconds the injector was asked to open. */
  readonly askedS: Float64Array;
  readonly #breathing: Float64Array;
  readonly #charge: Float64Array;
  readonly #trapped: Float64Array;
  readonly #work: Float64Array;
  readonly #last: Int32Array;
  readonly #leak: Float64Array;
  readonly #rings: Float64Array;
  readonly #portAir: Float64Array;
  readonly #tables: CycleTables;
  readonly #random: Random;
  readonly #n: number;
  readonly #cylinderVolume: number;
  #fill = 0.7;
  #slip = 0;
  #residual = 0;
  #friction = 0;
  #slow = 0;
  // Written anew each step rather than made, for speed.
  readonly #electric: ElectricLoad = {
    loadAmp: 0,
    starterOmega: Number.NaN,
    rpm: 0,
    setVolts: 14.2,
    tempC: 20,
  };
  readonly #shaftDrive: ShaftDrive = { gas: 0, friction: 0, outside: 0, starterOn: false, starterAmp: 0 };
  readonly #manifoldDrive: ManifoldDrive;
  readonly #mix: Charge;

  constructor({ vehicle, damage, random, startC, ambientC }: EngineOptions) {
    this.vehicle = vehicle;
    this.damage = damage;
    this.#random = random;
    const n = vehicle.firingOrder.length;
    this.#n = n;
    this.electrics = new Electrics(vehicle, damage.batteryCharge, random);
    this.exhaust = new Exhaust(vehicle);
    this.heat = new Heat(vehicle, startC, ambientC);
    this.mixture = new Mixture(vehicle, random);
    this.manifold = new Manifold(vehicle, this.ambient);
    this.shaft = new Shaft(vehicle);
    this.road = new Road(vehicle);
    this.source = this.ambient;
    this.unplugged = new Uint8Array(n);
    this.sparks = new Sparks(n);
    this.air = new Float64Array(n);
    this.burned = new Uint8Array(n);
    this.peak = new Float64Array(n);
    this.askedS = new Float64Array(n);
    this.#breathing = new Float64Array(n);
    this.#charge = new Float64Array(n).fill(1);
    this.#trapped = new Float64Array(n).fill(this.ambient);
    this.#work = new Float64Array(n);
    this.#last = new Int32Array(n);
    this.#leak = new Float64Array(n);
    this.#rings = new Float64Array(n);
    this.#portAir = new Float64Array(n);
    this.#tables = cycleTables(vehicle.compression);
    this.#cylinderVolume = (vehicle.displacementL * 1e-3) / n;
    const kelvin = ambientC + 273.15;
    const { ambient } = this;
    this.#manifoldDrive = {
      ambient,
      source: ambient,
      kelvin,
      meteredArea: 0,
      purgeArea: 0,
      egr: 0,
      breathing: 0,
    };
    this.#mix = {
      ...{ lambda: 1, filled: 0, held: 1, residual: 0, spark: 1, wet: 0, advance: 0, rpm: 0 },
      ...{ coolantC: startC, wallC: startC, intakeC: ambientC, staleness: 0, glow: 0 },
    };
    for (let k = 0; k < n; k++) this.#last[k] = this.#phase(k) | 0;
  }

  get omega(): number {
    return this.shaft.omega;
  }

  get rpm(): number {
    return (this.shaft.omega * 30) / Math.PI;
  }

  #phase(position: number): number {
    const ahead = this.angle + cycle - (position * cycle) / this.#n;
    return ahead < cycle ? ahead : ahead - cycle;
  }

  /** Cylinder number from 0 of a position in firing order. */
  cylinder(position: number): number {
    return (this.vehicle.firingOrder[position] ?? 1) - 1;
  }

  /** Whether a driver's line finds a load: cylinder number from 0. */
  injectorDraws(cylinder: number): boolean {
    return this.unplugged[cylinder] === 0;
  }

  coilDraws(cylinder: number): boolean {
    return this.sparks.coil(this.damage, cylinder) > 0;
  }

  step(dt: number, control: CycleControl): void {
    if (this.#slow === 0) this.#slowParts(dt * 5);
    this.#slow = (this.#slow + 1) % 5;
    const { shaft, orders } = this;
    const load = this.#electric;
    load.loadAmp = orders.loadAmp;
    load.starterOmega = this.starterOn ? shaft.starterOmega : Number.NaN;
    load.rpm = this.rpm;
    load.setVolts = orders.chargeVolts;
    load.tempC = this.heat.batteryC;
    this.electrics.step(dt, load, this.damage);
    const gearbox = this.road.step(dt, shaft.omega);
    if (shaft.omega === 0 && !this.starterOn && shaft.starterOmega === 0) {
      shaft.turned = 0;
      this.#breathe(dt, 0);
      return;
    }
    const drive = this.#shaftDrive;
    drive.gas = this.#gasTorque(dt);
    drive.friction = this.#friction;
    drive.outside = gearbox + this.#accessories();
    drive.starterOn = this.starterOn;
    drive.starterAmp = this.electrics.starterAmp;
    shaft.step(dt, drive, this.damage);
    this.angle = (this.angle + shaft.turned) % cycle;
    this.#events(control);
  }

  #accessories(): number {
    const { omega } = this.shaft;
    const alternator =
      omega > 10 ? (this.electrics.alternatorAmp * this.electrics.volts) / (0.62 * omega) : 0;
    return alternator + (this.orders.accessory && omega > 30 ? this.vehicle.accessoryTorque : 0);
  }

  /** Torque of gas in all cylinders, N·m; also lets the charge leak past rings and valves. */
  #gasTorque(dt: number): number {
    const volume = this.#cylinderVolume;
    const { volumeRate, intakeRate, burnShape, squeezes, densities } = this.#tables;
    const { omega } = this.shaft;
    const exhaustPressure = this.exhaust.pressure;
    const kept = 1 - this.#slip;
    const exhaustOpens = 490 + this.damage.valveSlip;
    let torque = 0;
    let breathing = 0;
    for (let k = 0; k < this.#n; k++) {
      const i = this.#phase(k) | 0;
      let pressure: number;
      if (i >= 180 && i < 540) {
        const squeeze = squeezes[i] ?? 1;
        const held = this.#charge[k] ?? 1;
        const trapped = this.#trapped[k] ?? 0;
        const over = (trapped * kept * held * squeeze) / this.ambient - 1;
        const rings = this.#rings[k] ?? 0;
        const sound = this.#leak[k] ?? soundLeak;
        if (over > 0) {
          const hole = rings === 0 ? sound : sound + rings * ringGap(over);
          this.#charge[k] = leaked(held, over, dt * hole * (densities[i] ?? 1));
        } else if (i >= 360) {
          this.#charge[k] = drawnBack(held, over, dt * (sound + rings));
        }
        pressure = trapped * kept * held * squeeze;
        if (pressure > (this.peak[k] ?? 0)) this.peak[k] = pressure;
        // Until the intake is shut the charge is pushed back, not squeezed; from its opening the exhaust rules.
        if (i < 360) pressure = Math.max(pressure, trapped * held);
        else if (i > exhaustOpens) pressure = exhaustPressure;
        torque += (this.#work[k] ?? 0) * (burnShape[i] ?? 0);
      } else if (i < 180) {
        pressure = this.manifold.pressure;
        const rate = (intakeRate[i] ?? 0) * omega;
        breathing += rate;
        this.#breathing[k] = (this.#breathing[k] ?? 0) + rate * dt;
      } else {
        pressure = exhaustPressure;
      }
      torque += (pressure - this.ambient) * (volumeRate[i] ?? 0) * volume;
    }
    this.#breathe(dt, breathing);
    return torque;
  }

  #breathe(dt: number, breathing: number): void {
    const drive = this.#manifoldDrive;
    const volume = this.#cylinderVolume * this.#fill;
    drive.source = this.source;
    drive.kelvin = this.heat.intakeC + 273.15;
    drive.meteredArea =
      this.orders.idleArea + this.manifold.opening(this.orders.throttle) * this.vehicle.throttleArea;
    drive.purgeArea = this.orders.purgeArea;
    drive.egr = this.orders.egr;
    drive.breathing = breathing * volume;
    this.manifold.step(dt, drive, this.damage);
    if (this.manifold.portLeak > 0) this.#leakAtPorts(dt);
    if (breathing === 0) return;
    const perShare = ((1 - drive.egr) * this.manifold.pressure * volume) / (gasConstant * drive.kelvin);
    for (let k = 0; k < this.#n; k++) {
      const share = this.#breathing[k] ?? 0;
      if (share > 0) {
        this.air[k] = (this.air[k] ?? 0) + share * perShare;
        this.#breathing[k] = 0;
      }
    }
  }

  /** Air that leaks in at the ports of bank 2 waits there for the next intake stroke of its cylinder. */
  #leakAtPorts(dt: number): void {
    const { bankOf } = this.vehicle;
    const each = (this.manifold.portLeak * dt * 2) / this.#n;
    for (let k = 0; k < this.#n; k++) {
      if (bankOf[this.cylinder(k)] === 1) this.#portAir[k] = (this.#portAir[k] ?? 0) + each;
    }
  }

  /** What happens at the ends of the strokes each cylinder has just passed. */
  #events(control: CycleControl): void {
    for (let k = 0; k < this.#n; k++) {
      const now = this.#phase(k) | 0;
      const before = this.#last[k] ?? 0;
      this.#last[k] = now;
      if (now < before) this.#intakeBegins(k, control);
      else if (before < 180 && now >= 180) this.#intakeEnds(k);
      else if (before < 360 && now >= 360) this.#fires(k, control);
      else if (before < 540 && now >= 540) this.#exhausts(k);
    }
  }

  #intakeBegins(k: number, control: CycleControl): void {
    this.air[k] = 0;
    if (this.vehicle.fuel === "petrol") this.#inject(k, control);
  }

  #inject(k: number, control: CycleControl): void {
    const plugged = this.unplugged[this.cylinder(k)] === 0;
    const seconds = control.injection(k);
    this.askedS[k] = seconds;
    const place = {
      relayVolts: this.orders.relay && plugged ? this.electrics.relayVolts : 0,
      manifoldGauge: (this.manifold.pressure - this.ambient) / 1000,
    };
    this.mixture.inject(k, seconds, place, this.damage);
  }

  #intakeEnds(k: number): void {
    const waited = this.#portAir[k] ?? 0;
    const air = this.air[k] ?? 0;
    this.#trapped[k] = this.manifold.pressure * (air > 0 ? 1 + waited / air : 1);
    this.air[k] = air + waited;
    this.#portAir[k] = 0;
    this.#charge[k] = 1;
    this.burned[k] = 0;
    this.#work[k] = 0;
    const vapour = this.mixture.vapour;
    if (this.vehicle.fuel === "petrol") {
      vapour[k] = (vapour[k] ?? 0) + (this.air[k] ?? 0) * this.manifold.vapourShare;
    }
  }

  #fires(k: number, control: CycleControl): void {
    const v = this.vehicle;
    const diesel = v.fuel === "diesel";
    if (diesel) this.#inject(k, control);
    const advance = control.spark(k);
    const chance = this.#random.next();
    const spread = this.#random.normal();
    const fuel = this.mixture.vapour[k] ?? 0;
    const air = this.air[k] ?? 0;
    const c = this.#mix;
    c.lambda = fuel > 0 ? air / (fuel * airNeed[v.fuel]) : 99;
    c.filled = air / (this.#cylinderVolume * 1.18);
    c.held = this.#charge[k] ?? 1;
    c.residual = this.#residual;
    // A coil needs about 9 V to fill; below 5 V it gives nothing (common practice).
    const filledCoil = Math.min(1, Math.max(0, (this.electrics.relayVolts - 5) / 4));
    const cylinder = this.cylinder(k);
    const coil = this.sparks.coil(this.damage, cylinder) * filledCoil * (this.orders.relay ? 1 : 0);
    this.sparks.given[k] = Number.isNaN(advance) ? 0 : coil;
    c.spark = coil * this.sparks.plug(this.damage, cylinder);
    c.wet = this.mixture.wet[k] ?? 0;
    c.advance = advance;
    c.rpm = this.rpm;
    c.coolantC = this.heat.coolantC;
    c.wallC = this.heat.wallC;
    c.intakeC = this.heat.intakeC;
    c.staleness = this.damage.staleness;
    c.glow = this.orders.glow;
    const lights = (diesel || (!Number.isNaN(advance) && c.spark > 0.05)) && chance <= burnChance(c, v);
    if (!diesel) this.mixture.burnedAt(k, lights, c.lambda);
    if (!lights) return;
    this.#work[k] = Math.max(0, fuel * energyOf[v.fuel] * burnShare(c, spread, v));
    this.burned[k] = 1;
    this.heat.fuelBurned(fuel * energyOf[v.fuel] * Math.min(1, c.lambda), this.rpm);
  }

  #exhausts(k: number): void {
    const air = this.air[k] ?? 0;
    const fuel = this.mixture.vapour[k] ?? 0;
    const burned = this.burned[k] === 1 && fuel > 0;
    this.exhaust.packet(k, air, fuel, burned ? air / (fuel * airNeed[this.vehicle.fuel]) : 2.5);
    this.#work[k] = 0;
  }

  #slowParts(dt: number): void {
    const { rpm, damage, vehicle: v } = this;
    const { volts, relayVolts } = this.electrics;
    const coolantC = this.heat.coolantC;
    this.heat.windMs = this.road.speed;
    this.heat.step(dt, rpm, this.manifold.metered, damage.thermostatOpen);
    this.mixture.step(dt, { pump: this.orders.pump, volts, coolantC, rpm }, damage);
    const { ambient } = this;
    this.exhaust.step(dt, { rpm, ambient, volts: this.orders.relay ? relayVolts : 0 }, damage);
    this.manifold.stepVapour(dt);
    if (v.boostKpa > 0) this.source += ((boosted(v, ambient, this.mixture.drawn) - this.source) * dt) / 0.7;
    // A late camshaft shuts the intake late: at low speed part of the charge goes back (common practice).
    this.#slip = Math.min(0.6, 0.011 * damage.valveSlip * Math.exp(-rpm / 2600));
    const pressure = this.manifold.pressure;
    const exhaust = this.exhaust.pressure * (1 + 0.012 * damage.valveSlip);
    const rings = damage.ringLeak.reduce((a, b) => a + b, 0) / this.#n;
    const drawn = pastRings(rings, rpm, pressure / ambient);
    this.#fill = (fillShare(rpm, pressure, exhaust, v.compression) * (1 - this.#slip)) / (1 + drawn);
    const left = residualShare(this.#fill, pressure, exhaust, v.compression);
    this.#residual = (left + drawn) / (1 + drawn);
    for (let k = 0; k < this.#n; k++) {
      const c = this.cylinder(k);
      this.#leak[k] = soundLeak + (damage.valveLeak[c] ?? 0);
      this.#rings[k] = damage.ringLeak[c] ?? 0;
    }
    this.#friction = frictionTorque(v, rpm, this.heat.oilC) * damage.frictionFactor;
  }
}
