import type { Clock } from "../../shared/clock.ts";
import type { BenchFault } from "../../shared/address.ts";
import type { BenchAct } from "../../shared/messages.ts";
import { Engine } from "./engine/engine.ts";
import { benchFault, damageOf } from "./faults.ts";
import { ControlModule, type Key } from "./module/control.ts";
import { hashed, Random } from "./random.ts";
import { benchVehicle, type BenchModule, type BenchVehicle } from "./vehicles.ts";

export interface BenchOptions {
  readonly vehicle: string;
  readonly faults?: readonly BenchFault[];
  /** Fixes everything that chance decides. */
  readonly seed?: number;
  readonly clock: Clock;
  /** Coolant and oil at the start, °C; 20 when not said. Ambient is 20. */
  readonly coldStartC?: number;
}

export interface BenchState {
  readonly vehicle: string;
  readonly key: Key;
  readonly pedal: number;
  readonly faults: readonly string[];
}

const stepS = 0.001;
const stepsPerTick = 10;
/** After a longer silence than this the engine is taken to have stood still meanwhile, s. */
const longestCatchUpS = 600;

/**
 * An invented vehicle that is turned by physics. Nothing runs by itself: whoever asks first lets the engine
 * catch up with the clock in steps of 1 ms. A run is fixed by vehicle, faults, seed and the times of the acts.
 */
export class Bench {
  readonly vehicle: BenchVehicle;
  readonly engine: Engine;
  readonly module: ControlModule;
  readonly seed: number;
  readonly #clock: Clock;
  readonly #faults = new Map<string, number>();
  #startedAt: number;
  #steps = 0;
  #heldRpm: number | null = null;
  #footSum = 0;
  #lowMs = 0;
  /** How often the socket fell below what an adapter needs, about 5.8 V for more than 5 ms. */
  supplyDips = 0;

  constructor(options: BenchOptions) {
    this.vehicle = benchVehicle(options.vehicle);
    for (const fault of options.faults ?? []) this.#faults.set(benchFault(fault.name).id, fault.severity);
    this.seed = options.seed ?? 1;
    this.#clock = options.clock;
    const random = new Random(this.seed);
    const damage = damageOf(this.#faults, this.vehicle);
    const ambientC = 20;
    const startC = options.coldStartC ?? ambientC;
    this.engine = new Engine({ vehicle: this.vehicle, damage, random, startC, ambientC });
    this.module = new ControlModule(this.vehicle, this.engine, random);
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
      if (this.#heldRpm !== null) this.#pressPedal(this.#heldRpm, stepS * stepsPerTick);
      module.tick(stepS * stepsPerTick);
    }
    this.#steps += 1;
    engine.starterOn = module.key === "crank";
    engine.step(stepS, module);
    module.sense(stepS);
    this.#lowMs = engine.electrics.volts < 5.8 ? this.#lowMs + 1 : 0;
    if (this.#lowMs === 5) this.supplyDips += 1;
  }

  /** Turns the key, moves the pedal, or sets a fault (severity 0 takes it away). Throws `bench-unknown`. */
  act(act: BenchAct): void {
    this.catchUp();
    switch (act.act) {
      case "key":
        this.module.key = act.to;
        return;
      case "pedal":
        this.#heldRpm = null;
        this.module.pedal = act.to;
        return;
      case "fault": {
        const id = benchFault(act.name).id;
        if (act.severity === 0) this.#faults.delete(id);
        else this.#faults.set(id, act.severity);
        this.engine.damage = damageOf(this.#faults, this.vehicle);
        return;
      }
    }
  }

  /** A foot that holds a speed, as a mechanic does; null lets go. */
  hold(rpm: number | null): void {
    this.catchUp();
    this.#heldRpm = rpm;
    this.#footSum = 0.06;
    if (rpm === null) this.module.pedal = 0;
  }

  #pressPedal(rpm: number, dt: number): void {
    const error = rpm - this.engine.rpm;
    this.#footSum = Math.min(0.6, Math.max(0, this.#footSum + error * dt * 4e-5));
    this.module.pedal = Math.min(0.8, Math.max(0.021, this.#footSum + error * 6e-5));
  }

  state(): BenchState {
    this.catchUp();
    return {
      vehicle: this.vehicle.id,
      key: this.module.key,
      pedal: this.module.pedal,
      faults: [...this.#faults.keys()],
    };
  }

  /** Volts at the diagnostic socket, with the adapter's own noise of about 0.05 V. */
  socketVolts(): number {
    this.catchUp();
    return this.engine.electrics.volts + 0.06 * (hashed(this.seed, this.#steps) - 0.5);
  }

  /** Whether a module would answer now. Without its supply, or below about 6 V, it does not. */
  moduleAwake(module: BenchModule): boolean {
    if (module.role === "engine") return this.module.awake;
    return this.module.powered && this.engine.electrics.volts > 6.5;
  }

  /** Changes whenever the engine module lost its memory of a session: power off, or a brown-out. */
  get powerEpoch(): number {
    return this.module.boots;
  }

  /** Ends the vehicle: it asks the clock for nothing by itself, so there is nothing to cancel but the foot. */
  stop(): void {
    this.#heldRpm = null;
  }

  /** Steps done: a stamp that is the same in every run of the same script. */
  get steps(): number {
    return this.#steps;
  }
}
