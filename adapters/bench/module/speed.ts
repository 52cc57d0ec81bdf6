import { Contact } from "../engine/contact.ts";
import type { Damage } from "../damage.ts";
import type { Random } from "../random.ts";

/** Below this speed times signal share a magnetic pickup gives too little voltage to count, rpm (common practice). */
const leastSignal = 40;
/** Degrees over which speed is measured: short while slow, so that a compression shows. */
const slowWindow = 60;
/** Degrees until crank and cam together tell where the engine is; without a cam signal it has to try. */
const syncWithCam = 500;
const syncWithoutCam = 2400;

/** Invented wheels: sixty teeth on the crankshaft, none left out; one pulse a turn of the camshaft. */
const toothDegrees = 6;
const camPulseDegrees = 720;

/** Engine speed as the module learns it: from teeth that come or do not. */
export class CrankSense {
  /** Measured speed, rpm; 0 when no tooth came for a while. */
  rpm = 0;
  /** The module knows where the engine is in its cycle. */
  synced = false;
  /** Degrees seen without a long break. */
  seen = 0;
  /** Teeth that were missing while it turned, counted in bursts. */
  breaks = 0;
  /** Teeth and cam pulses counted since the module has had power. */
  readonly counted = { crank: 0, cam: 0 };
  #degrees = { crank: 0, cam: 0 };
  #window = 0;
  #windowS = 0;
  #silentS = 1;
  readonly #contact = new Contact();
  readonly #firingAngle: number;

  constructor(cylinders: number) {
    this.#firingAngle = 720 / cylinders;
  }

  /** The plug of the crank sensor is moved by hand, or let go. */
  wiggle(on: boolean): void {
    this.#contact.wiggled = on;
  }

  step(dt: number, turned: number, damage: Damage, random: Random): void {
    this.#contact.step(dt, damage.crankDropout, random);
    if (damage.camSignal) this.#count("cam", turned, camPulseDegrees);
    const signal = (turned / dt / 6) * damage.crankSignal;
    if (turned === 0 || signal < leastSignal || this.#contact.open) {
      this.#silentS += dt;
      // The time between teeth runs on, whether they were missed or not there.
      this.#windowS += dt;
      if (this.#silentS > 0.05 && this.synced) {
        this.synced = false;
        this.seen = 0;
        this.breaks += 1;
      }
      if (this.#silentS > 0.35) this.reset();
      return;
    }
    this.#silentS = 0;
    this.#count("crank", turned, toothDegrees);
    this.seen += turned;
    this.#window += turned;
    this.#windowS += dt;
    if (this.seen > (damage.camSignal ? syncWithCam : syncWithoutCam)) this.synced = true;
    const window = this.rpm < 400 ? slowWindow : this.#firingAngle;
    if (this.#window >= window) {
      this.rpm = this.#window / this.#windowS / 6;
      this.#window = 0;
      this.#windowS = 0;
    }
  }

  /** Power was off: counting begins anew. */
  forget(): void {
    this.reset();
    this.counted.crank = 0;
    this.counted.cam = 0;
  }

  #count(signal: "crank" | "cam", turned: number, degrees: number): void {
    this.#degrees[signal] += turned;
    const steps = Math.floor(this.#degrees[signal] / degrees);
    this.#degrees[signal] -= steps * degrees;
    this.counted[signal] += steps;
  }

  reset(): void {
    this.rpm = 0;
    this.synced = false;
    this.seen = 0;
    this.#window = 0;
    this.#windowS = 0;
  }
}
