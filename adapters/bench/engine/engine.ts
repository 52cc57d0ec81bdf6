import type { Damage } from "../damage.ts";
import type { Random } from "../random.ts";
import type { BenchVehicle } from "../vehicles.ts";
import { fillShare, gasConstant, pressureAt, psi } from "./air.ts";
import { Electrics, type ElectricLoad } from "./electrics.ts";
import { Exhaust } from "./exhaust.ts";
import { burnShape, compressionTable, cycleDegrees, intakeRate, volumeRate } from "./geometry.ts";
import { Heat } from "./heat.ts";
import { Mixture } from "./mixture.ts";

/** What the control module orders; the engine obeys it every step. */
export interface Orders {
  /** The main relay feeds injectors, coils and the module's own outputs. */
  pump: boolean;
  /** Idle air, m². */
  idleArea: number;
  /** Throttle plate, 0 closed to 1 wide open, without the idle air. */
  throttle: number;
  /** Regulator aim, V. */
  chargeVolts: number;
  accessory: boolean;
  /** Current the module and its actuators draw, A. */
  loadAmp: number;
}

/** The control module's side of each cylinder's cycle. */
export interface CycleControl {
  /** Seconds the injector is held open for this cycle; 0 is none. */
  injection(position: number): number;
  /** Degrees before dead centre, or NaN for no spark. */
  spark(position: number): number;
}

const degree = 180 / Math.PI;
/** Indicated share of the fuel's energy with the best spark, warm. Heywood gives 0.3 to 0.4 for spark engines. */
const bestEfficiency = 0.36;
const petrolEnergy = 43e6;

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
  readonly orders: Orders = {
    pump: false,
    idleArea: 0,
    throttle: 0,
    chargeVolts: 14.2,
    accessory: false,
    loadAmp: 0.03,
  };
  damage: Damage;

  /** Crank angle of the first cylinder in firing order, degrees in its cycle; speed rad/s; starter rad/s. */
  angle = 130;
  omega = 0;
  starterOmega = 0;
  starterOn = false;
  /** Degrees turned in the last step. */
  turned = 0;
  /** Manifold pressure, Pa; ambient, Pa; flow through throttle and idle valve, kg/s (what a meter sees). */
  manifold: number;
  readonly ambient = pressureAt(40);
  meteredFlow = 0;
  leakFlow = 0;
  /** Load torque outside the engine, N·m, and inertia, kg·m² (gearbox and road); 0 in neutral. */
  outsideTorque = 0;
  outsideInertia = 0;

  /** Per position in firing order: fresh air of this cycle kg, share of the charge still there, burn work J. */
  readonly air: Float64Array;
  readonly burned: Uint8Array;
  readonly #breathing: Float64Array;
  readonly #charge: Float64Array;
  readonly #trapped: Float64Array;
  readonly #work: Float64Array;
  readonly #last: Int32Array;
  readonly #compression: Float64Array;
  readonly #random: Random;
  readonly #n: number;
  readonly #cylinderVolume: number;
  #fill = 0.7;
  #friction = 0;
  #slow = 0;
  /** Written anew each step rather than made, for speed. */
  readonly #load: ElectricLoad = { loadAmp: 0, starterOmega: Number.NaN, rpm: 0, setVolts: 14.2, tempC: 20 };

  constructor({ vehicle, damage, random, startC, ambientC }: EngineOptions) {
    this.vehicle = vehicle;
    this.damage = damage;
    this.#random = random;
    const n = vehicle.firingOrder.length;
    this.#n = n;
    this.electrics = new Electrics(vehicle, damage.batteryCharge);
    this.exhaust = new Exhaust(vehicle);
    this.heat = new Heat(vehicle, startC, ambientC);
    this.mixture = new Mixture(vehicle);
    this.manifold = this.ambient;
    this.air = new Float64Array(n);
    this.burned = new Uint8Array(n);
    this.#breathing = new Float64Array(n);
    this.#charge = new Float64Array(n).fill(1);
    this.#trapped = new Float64Array(n).fill(this.ambient);
    this.#work = new Float64Array(n);
    this.#last = new Int32Array(n);
    this.#compression = compressionTable(vehicle.compression);
    this.#cylinderVolume = (vehicle.displacementL * 1e-3) / n;
    for (let k = 0; k < n; k++) this.#last[k] = this.#phase(k) | 0;
  }

  get rpm(): number {
    return (this.omega * 30) / Math.PI;
  }

  #phase(position: number): number {
    return (this.angle + cycleDegrees - (position * cycleDegrees) / this.#n) % cycleDegrees;
  }

  step(dt: number, control: CycleControl): void {
    if (this.#slow === 0) this.#slowParts(dt * 5);
    this.#slow = (this.#slow + 1) % 5;
    const starting = this.starterOn;
    const load = this.#load;
    load.loadAmp = this.orders.loadAmp;
    load.starterOmega = starting ? this.starterOmega : Number.NaN;
    load.rpm = this.rpm;
    load.setVolts = this.orders.chargeVolts;
    load.tempC = this.heat.batteryC;
    this.electrics.step(dt, load, this.damage);
    if (this.omega === 0 && !starting && this.starterOmega === 0) {
      this.turned = 0;
      this.#fillManifold(dt, 0);
      return;
    }
    this.#turn(dt, this.#gasTorque(dt));
    this.#events(control);
  }

  /** Torque of gas in all cylinders, N·m; also lets the charge leak past rings and valves. */
  #gasTorque(dt: number): number {
    const volume = this.#cylinderVolume;
    const exhaustPressure = this.exhaust.pressure;
    let torque = 0;
    let breathing = 0;
    for (let k = 0; k < this.#n; k++) {
      const i = this.#phase(k) | 0;
      let pressure: number;
      if (i >= 180 && i < 540) {
        const squeeze = this.#compression[i] ?? 1;
        const held = this.#charge[k] ?? 1;
        // A charge at working pressure loses a few per cent a tenth of a second: heat to the walls and blow-by.
        this.#charge[k] = Math.max(0.05, held * (1 - dt * 0.13 * (squeeze - 1)));
        pressure = (this.#trapped[k] ?? 0) * held * squeeze;
        torque += (this.#work[k] ?? 0) * (burnShape[i] ?? 0);
      } else if (i < 180) {
        pressure = this.manifold;
        const rate = (intakeRate[i] ?? 0) * this.omega;
        breathing += rate;
        this.#breathing[k] = (this.#breathing[k] ?? 0) + rate * dt;
      } else {
        pressure = exhaustPressure;
      }
      torque += (pressure - this.ambient) * (volumeRate[i] ?? 0) * volume;
    }
    this.#fillManifold(dt, breathing);
    return torque;
  }

  /**
   * Filling and emptying of the manifold, isothermal (Heywood 14.3.3; Hendricks). Holes are taken as a slope from
   * the present pressure and the step is implicit, so it stays stable where the flow function is steep.
   */
  #fillManifold(dt: number, breathing: number): void {
    const v = this.vehicle;
    const kelvin = this.heat.intakeC + 273.15;
    const ratio = this.manifold / this.ambient;
    const gap = Math.max(this.ambient - this.manifold, 20);
    const flow = (this.ambient / Math.sqrt(gasConstant * kelvin)) * psi(Math.min(ratio, 0.9998));
    const slope = flow / gap;
    const metered = this.orders.idleArea + this.orders.throttle ** 1.7 * v.throttleArea;
    const stiffness = (gasConstant * kelvin) / v.manifoldVolume;
    const out = (breathing * this.#cylinderVolume * this.#fill) / (gasConstant * kelvin);
    const area = metered + this.damage.leakArea;
    this.manifold =
      (this.manifold + stiffness * dt * slope * area * this.ambient) /
      (1 + stiffness * dt * (slope * area + out));
    const drive = slope * (this.ambient - this.manifold);
    this.meteredFlow = drive * metered;
    this.leakFlow = drive * this.damage.leakArea;
    if (breathing === 0) return;
    const perShare = (this.manifold * this.#cylinderVolume * this.#fill) / (gasConstant * kelvin);
    for (let k = 0; k < this.#n; k++) {
      const share = this.#breathing[k] ?? 0;
      if (share > 0) {
        this.air[k] = (this.air[k] ?? 0) + share * perShare;
        this.#breathing[k] = 0;
      }
    }
  }

  #turn(dt: number, gas: number): void {
    const v = this.vehicle;
    const alternator =
      this.omega > 10 ? (this.electrics.alternatorAmp * this.electrics.volts) / (0.62 * this.omega) : 0;
    const accessory = this.orders.accessory && this.omega > 30 ? v.accessoryTorque : 0;
    const drag = this.#friction + alternator + accessory + this.outsideTorque;
    const inertia = v.inertia + this.outsideInertia;
    let net = gas;
    if (this.omega > 0) net -= drag;
    else net = Math.max(0, Math.abs(gas) > drag ? gas - drag : 0);
    const starterTorque = this.starterOn
      ? this.electrics.starterAmp * v.starterK * 0.86
      : -this.starterOmega * 0.4;
    const geared = this.starterOn && this.starterOmega >= this.omega - 1e-9;
    let next: number;
    if (geared) {
      // Below standstill friction opposes the starter too.
      const load = this.omega > 0 ? net : gas - drag;
      const pull = (starterTorque + load) / (inertia + v.starterInertia);
      if (starterTorque - v.starterInertia * pull >= 0) {
        next = Math.max(0, this.omega + pull * dt);
        this.starterOmega = next;
      } else {
        next = this.omega + (net / inertia) * dt;
        this.starterOmega = this.omega + (starterTorque / v.starterInertia) * dt;
      }
    } else {
      next = this.omega + (net / inertia) * dt;
      const free = (starterTorque - this.starterOmega * 0.12) / v.starterInertia;
      this.starterOmega = Math.max(0, this.starterOmega + free * dt);
      if (this.starterOn && this.starterOmega > next) {
        const joined = (this.starterOmega * v.starterInertia + next * inertia) / (inertia + v.starterInertia);
        this.starterOmega = joined;
        next = joined;
      }
    }
    next = Math.max(0, next);
    if (!this.starterOn && next < 0.4) next = 0;
    if (!this.starterOn && this.starterOmega < 0.5) this.starterOmega = 0;
    this.turned = ((this.omega + next) / 2) * dt * degree;
    this.omega = next;
    this.angle = (this.angle + this.turned) % cycleDegrees;
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
    this.mixture.inject(k, control.injection(k), this);
  }

  #intakeEnds(k: number): void {
    this.#trapped[k] = this.manifold;
    this.#charge[k] = 1;
    this.burned[k] = 0;
    this.#work[k] = 0;
  }

  #fires(k: number, control: CycleControl): void {
    const advance = control.spark(k);
    const chance = this.#random.next();
    const spread = this.#random.normal();
    if (Number.isNaN(advance)) return;
    const air = this.air[k] ?? 0;
    const fuel = this.mixture.vapour[k] ?? 0;
    const lambda = fuel > 0 ? air / (fuel * 14.6) : 99;
    const held = this.#charge[k] ?? 1;
    if (chance > this.mixture.burnChance(lambda, held * air, this.#cylinderVolume)) return;
    const rpm = this.rpm;
    const load = air / (this.#cylinderVolume * 1.18);
    // Best timing moves with speed and dilution; losing it costs with the square (common practice).
    const best = 16 + 5e-3 * Math.min(rpm, 3500) + 16 * (1 - Math.min(1, load));
    const off = Math.min(55, Math.abs(best - advance));
    const timing = Math.max(0.15, 1 - 2.6e-4 * off * off);
    const richLoss = lambda < 1 ? lambda : 1 - 0.25 * Math.max(0, lambda - 1.1);
    const cold = 1 - 0.0016 * Math.max(0, 80 - this.heat.coolantC);
    const slowLoss = 1 - 0.12 * Math.exp(-rpm / 900);
    const cov = 0.02 + 0.035 * Math.max(0, 0.45 - load) + 0.08 * Math.max(0, lambda - 1.1);
    const share = bestEfficiency * timing * richLoss * cold * slowLoss * (1 + cov * spread);
    this.#work[k] = Math.max(0, fuel * petrolEnergy * share * held);
    this.burned[k] = 1;
    this.heat.fuelBurned(fuel * petrolEnergy * Math.min(1, lambda));
  }

  #exhausts(k: number): void {
    const air = this.air[k] ?? 0;
    const fuel = this.mixture.vapour[k] ?? 0;
    this.exhaust.packet(k, air, fuel, this.burned[k] === 1);
    this.#work[k] = 0;
  }

  #slowParts(dt: number): void {
    const rpm = this.rpm;
    const v = this.vehicle;
    this.heat.step(dt, rpm, this.meteredFlow);
    this.mixture.step(dt, this.orders.pump, this.electrics.volts, this.heat.coolantC);
    this.exhaust.step(dt, rpm, this.ambient, this.electrics.volts);
    this.#fill = fillShare(rpm, this.manifold, this.exhaust.pressure, v.compression);
    // Motored friction: Heywood 13.6 (Barnes-Moss), its pumping taken off, times a cold-oil factor (common practice).
    const krpm = rpm / 1000;
    const bar = 0.7 + 0.15 * krpm + 0.05 * krpm * krpm;
    const oil = 1 + 1.5 * Math.exp(-(this.heat.oilC + 10) / 38);
    this.#friction = (bar * 1e5 * oil * v.displacementL * 1e-3) / (4 * Math.PI);
  }
}
