import type { Clock } from "../../shared/clock.ts";
import type { BenchFault } from "../../shared/address.ts";
import type { BenchAct } from "../../shared/messages.ts";
import { addedFlow, carryOut } from "./acts.ts";
import { Engine } from "./engine/engine.ts";
import { benchFault, damageOf } from "./faults.ts";
import { Foot } from "./foot.ts";
import { ControlModule, type Key } from "./module/control.ts";
import { hashed, Random } from "./random.ts";
import { freezeFrame, type FreezeFrame } from "./services/freeze.ts";
import { benchVehicle, seriesOf, type BenchModule, type BenchVehicle } from "./vehicles.ts";

export interface BenchOptions {
  readonly vehicle: string;
  readonly faults?: readonly BenchFault[];
  /** Fixes everything that chance decides. */
  readonly seed?: number;
  readonly clock: Clock;
  /** Coolant and oil at the start, °C; 20 when not said. Ambient is 20. */
  readonly coldStartC?: number;
  /** Which faults are in is not told before `reveal`. */
  readonly hidden?: boolean;
}

export interface BenchState {
  readonly vehicle: string;
  readonly key: Key;
  readonly pedal: number;
  /** Empty while they are hidden. */
  readonly faults: readonly string[];
  readonly hidden: boolean;
}

const stepS = 0.001;
const stepsPerTick = 10;
/** After a longer silence than this the engine is taken to have stood still meanwhile, s. */
const longestCatchUpS = 600;
/** Below this an adapter on the socket starts anew, V (from memory: 5 V logic behind a regulator). */
const adapterVolts = 5.8;

/**
 * An invented vehicle that is turned by physics. Nothing runs by itself: whoever asks first lets the engine
 * catch up with the clock in steps of 1 ms. A run is fixed by vehicle, faults, seed and the times of the acts.
 */
export class Bench {
  readonly vehicle: BenchVehicle;
  readonly engine: Engine;
  readonly module: ControlModule;
  readonly foot: Foot;
  readonly seed: number;
  /** How often the socket fell below what an adapter needs, for more than 5 ms. */
  supplyDips = 0;
  /** Values kept when the first code was stored. */
  frozen: FreezeFrame | null = null;
  #hidden: boolean;
  readonly #clock: Clock;
  readonly #faults = new Map<string, number>();
  #startedAt: number;
  #steps = 0;
  #lowMs = 0;
  #checks = 0;
  /** Steps until which a person adds fuel at the intake. */
  #addUntil = 0;

  constructor(options: BenchOptions) {
    this.vehicle = benchVehicle(options.vehicle);
    for (const { name, severity } of options.faults ?? []) {
      this.#faults.set(benchFault(name, this.vehicle).id, severity);
    }
    this.seed = options.seed ?? 1;
    this.#hidden = options.hidden ?? false;
    this.#clock = options.clock;
    const random = new Random(this.seed);
    const damage = damageOf(this.#faults, this.vehicle);
    const ambientC = 20;
    const startC = options.coldStartC ?? ambientC;
    this.engine = new Engine({ vehicle: this.vehicle, damage, random, startC, ambientC });
    this.module = new ControlModule(this.vehicle, this.engine, random);
    this.foot = new Foot(this.engine, this.module);
    this.module.codes.onFirst = (code) => {
      this.frozen = freezeFrame(code, this);
    };
    this.#startedAt = options.clock.now();
  }

  /** Lets the engine catch up with the clock. */
  catchUp(): void {
    let due = Math.floor(this.#clock.now() - this.#startedAt + 1e-6) - this.#steps;
    const most = longestCatchUpS / stepS;
    if (due > most) {
      this.#startedAt += due - most;
      due = most;
    }
    for (let i = 0; i < due; i++) this.#step();
  }

  #step(): void {
    const { engine, module } = this;
    if (this.#steps % stepsPerTick === 0) {
      this.foot.press(stepS * stepsPerTick);
      module.tick(stepS * stepsPerTick);
      engine.manifold.added = this.#steps < this.#addUntil ? addedFlow(engine) * 1e-3 : 0;
    }
    this.#steps += 1;
    engine.starterOn = module.key === "crank";
    engine.step(stepS, module);
    module.sense(stepS);
    this.#lowMs = engine.electrics.volts * seriesOf(this.vehicle) < adapterVolts ? this.#lowMs + 1 : 0;
    if (this.#lowMs === 5) this.supplyDips += 1;
  }

  /**
   * Turns the key, moves the pedal, sets a fault (severity 0 takes it away), or carries out what a mechanic
   * tries. Throws `bench-unknown` for a fault or cylinder the vehicle does not have.
   */
  act(act: BenchAct): void {
    this.catchUp();
    switch (act.act) {
      case "key":
        this.module.key = act.to;
        return;
      case "pedal":
        this.foot.rest();
        this.module.pedal = act.to;
        return;
      case "fault":
        this.#break(act.name, act.severity);
        return;
      case "add-fuel":
        this.#addUntil = this.#steps + Math.round(act.seconds / stepS);
        return;
      case "wiggle":
        if (act.plug === "module") this.engine.electrics.wiggle(act.on);
        else this.module.crank.wiggle(act.on);
        return;
      default:
        carryOut(act, this.engine);
    }
  }

  #break(name: string, severity: number): void {
    const { id } = benchFault(name, this.vehicle);
    if (severity === 0) this.#faults.delete(id);
    else this.#faults.set(id, severity);
    const before = this.engine.damage;
    this.engine.damage = damageOf(this.#faults, this.vehicle);
    const charge = this.engine.damage.batteryCharge;
    if (charge !== before.batteryCharge) this.engine.electrics.charge = charge;
  }

  /** A foot that holds an engine speed in neutral, as a mechanic does; null lets go. */
  hold(rpm: number | null): void {
    this.catchUp();
    this.foot.hold(rpm);
  }

  /** Drives at this road speed, km/h; null stops and puts the gear out. */
  drive(kmh: number | null): void {
    this.catchUp();
    this.foot.drive(kmh);
  }

  state(): BenchState {
    this.catchUp();
    return {
      vehicle: this.vehicle.id,
      key: this.module.key,
      pedal: this.module.pedal,
      faults: this.#hidden ? [] : [...this.#faults.keys()],
      hidden: this.#hidden,
    };
  }

  /** From now on its faults are told. */
  reveal(): readonly BenchFault[] {
    this.#hidden = false;
    return this.faults;
  }

  /** The faults with their severities, for whoever builds the same vehicle again. */
  get faults(): readonly BenchFault[] {
    return [...this.#faults].map(([name, severity]) => ({ name, severity }));
  }

  /** Volts at the diagnostic socket, with the adapter's own noise of about 0.05 V. */
  socketVolts(): number {
    this.catchUp();
    return (
      this.engine.electrics.volts * seriesOf(this.vehicle) + 0.06 * (hashed(this.seed, this.#steps) - 0.5)
    );
  }

  /** Whether a module would answer now. Without its supply, or below about 6 V, it does not. */
  moduleAwake(module: BenchModule): boolean {
    if (module.role === "engine") return this.module.awake;
    return this.module.powered && this.engine.electrics.volts > 6.5;
  }

  /** Changes whenever the engine module loses its memory of a session: power off (-1), or a brown-out. */
  get powerEpoch(): number {
    return this.module.awake ? this.module.boots : -1;
  }

  /** Ends the vehicle: it asks the clock for nothing by itself, so there is nothing to cancel but the foot. */
  stop(): void {
    this.foot.rest();
  }

  /** Numbers the hand checks, so that a repeated one errs anew. */
  nextCheck(): number {
    this.#checks += 1;
    return this.#checks;
  }

  /** Steps done: a stamp that is the same in every run of the same script. */
  get steps(): number {
    return this.#steps;
  }
}
