import type { Damage } from "../damage.ts";
import type { Random } from "../random.ts";

/** Below this speed times signal share a magnetic pickup gives too little voltage to count, rpm (common practice). */
const leastSignal = 40;
/** Degrees over which speed is measured: short while slow, so that a compression shows. */
const slowWindow = 60;

/** Engine speed as the module learns it: from teeth that come or do not. */
export class CrankSense {
  /** Measured speed, rpm; 0 when no tooth came for a while. */
  rpm = 0;
  /** The module knows where the engine is in its cycle. */
  synced = false;
  /** Degrees seen without a break. */
  seen = 0;
  #window = 0;
  #windowS = 0;
  #silentS = 1;
  #openS = 0;
  #closedS = 0;
  readonly #firingAngle: number;

  constructor(cylinders: number) {
    this.#firingAngle = 720 / cylinders;
  }

  step(dt: number, turned: number, damage: Damage, random: Random): void {
    const signal = (turned / dt / 6) * damage.crankSignal;
    if (turned === 0 || signal < leastSignal || this.#contactOpen(dt, damage, random)) {
      this.#silentS += dt;
      if (this.#silentS > 0.12) this.synced = false;
      if (this.#silentS > 0.35) this.reset();
      return;
    }
    this.#silentS = 0;
    this.seen += turned;
    this.#window += turned;
    this.#windowS += dt;
    if (this.seen > 500) this.synced = true;
    const window = this.rpm < 400 ? slowWindow : this.#firingAngle;
    if (this.#window >= window) {
      this.rpm = this.#window / this.#windowS / 6;
      this.#window = 0;
      this.#windowS = 0;
    }
  }

  reset(): void {
    this.rpm = 0;
    this.synced = false;
    this.seen = 0;
    this.#window = 0;
    this.#windowS = 0;
  }

  /** A loose contact: open in bursts of 0.1 to 0.5 s, for the given share of the time. */
  #contactOpen(dt: number, damage: Damage, random: Random): boolean {
    const share = damage.crankDropout;
    if (share <= 0) return false;
    if (this.#openS > 0) {
      this.#openS -= dt;
      if (this.#openS <= 0) this.#closedS = ((0.1 + 0.4 * random.next()) * (1 - share)) / share;
      return true;
    }
    this.#closedS -= dt;
    if (this.#closedS <= 0) this.#openS = 0.1 + 0.4 * random.next();
    return false;
  }
}
