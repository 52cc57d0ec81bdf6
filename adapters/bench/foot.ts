import type { Engine } from "./engine/engine.ts";
import type { ControlModule } from "./module/control.ts";

/** The person's foot: holds an engine speed in neutral, or a road speed in gear, as a person would. */
export class Foot {
  #rpm: number | null = null;
  #kmh: number | null = null;
  #sum = 0;
  #braking = false;
  readonly #engine: Engine;
  readonly #module: ControlModule;

  constructor(engine: Engine, module: ControlModule) {
    this.#engine = engine;
    this.#module = module;
  }

  /** Nothing is held any more; the pedal stays where it is. */
  rest(): void {
    this.#rpm = null;
    this.#kmh = null;
  }

  hold(rpm: number | null): void {
    this.rest();
    this.#rpm = rpm;
    this.#sum = 0.06;
    if (rpm === null) this.#module.pedal = 0;
  }

  drive(kmh: number | null): void {
    this.rest();
    this.#sum = 0.05;
    this.#braking = kmh === null;
    this.#kmh = kmh ?? 0;
    if (this.#engine.road.gear === 0) this.#engine.road.gear = 1;
  }

  /** Every 10 ms. */
  press(dt: number): void {
    if (this.#rpm !== null) this.#hold(this.#rpm, dt);
    else if (this.#kmh !== null) this.#drive(this.#kmh, dt);
  }

  #hold(rpm: number, dt: number): void {
    const error = rpm - this.#engine.rpm;
    this.#sum = Math.min(0.6, Math.max(0, this.#sum + error * dt * 4e-5));
    this.#module.pedal = Math.min(0.8, Math.max(0.021, this.#sum + error * 6e-5));
  }

  #drive(kmh: number, dt: number): void {
    const road = this.#engine.road;
    if (this.#braking) {
      this.#module.pedal = 0;
      road.brake = 0.5;
      if (road.kmh > 0.5) return;
      road.speed = 0;
      road.gear = 0;
      road.brake = 0;
      this.#braking = false;
      this.rest();
      return;
    }
    const error = kmh - road.kmh;
    const most = this.#engine.vehicle.fuel === "diesel" ? 0.6 : 0.34;
    this.#sum = Math.min(0.5, Math.max(0, this.#sum + error * dt * 0.004));
    const pedal = Math.min(most, Math.max(0, this.#sum + error * 0.012));
    // A foot moves in tenths of a second, not at once.
    this.#module.pedal += (pedal - this.#module.pedal) * Math.min(1, dt / 0.4);
    if (error > -4 && this.#module.pedal < 0.021) this.#module.pedal = 0.021;
    road.brake = error < -8 ? 0.25 : 0;
  }
}
