import { regimeGroup, regimes, type Regime } from "../../../shared/ranges.ts";

const running: ReadonlySet<Regime> = new Set(
  regimes.filter((r) => r === "run-up" || ["idle", "running"].includes(regimeGroup[r] ?? r)),
);

/** The engine runs by itself. */
export function runs(regime: Regime): boolean {
  return running.has(regime);
}

/** What the rest of the channels say at a reading of engine speed; null where a channel is not there. */
export interface Surroundings {
  readonly load: number | null;
  readonly manifold: number | null;
  readonly barometric: number | null;
  readonly vehicleSpeed: number | null;
  readonly coolant: number | null;
  /** Closed according to the lowest position seen so far. */
  readonly throttleClosed: boolean | null;
  /** Code of parameter 03; 04 is open loop because of load or overrun. */
  readonly loop: number | null;
}

export const runningLimits = {
  /** After a start, milliseconds: flare and first settling. */
  runUpMs: 4000,
  /** A regime must hold for two readings and this long; milliseconds. */
  holdMs: 1000,
  /** Coolant at and above which idle is warm; °C (an open data set shows thermostat control from 80 on). */
  warm: 75,
  /** Highest speed still called idle, rpm: warm, cold. */
  idleWarm: 1100,
  idleCold: 1600,
  /** Load %, or manifold as a share of barometric pressure, from which load is high. */
  highLoad: 70,
  highManifold: 0.88,
  /** Lowest speed, rpm, and road speed, km/h, of an overrun; highest load % and manifold share in it. */
  overrunSpeed: 1150,
  overrunMoving: 8,
  overrunLoad: 25,
  overrunManifold: 0.32,
  /** Standing is at most this, cruise at least that; km/h. */
  standing: 3,
  cruising: 20,
  /** (highest - lowest) / middle over the window of steadiness. */
  heldSpread: 0.15,
  cruiseSpread: 0.1,
} as const;

const bucketMs = 500;
const buckets = 8;

/** Names what a running engine does, with hysteresis. Fed with every reading of engine speed. */
export class RunningFold {
  readonly #window: { id: number; low: number; high: number }[] = [];
  readonly #idleOffset: number | null;
  #regime: Regime = "running";
  /** False until the first regime after the run-up is sure: that one reaches back to its beginning. */
  #named = false;
  #runUpEnd = 0;
  #candidate: Regime | null = null;
  #candidateFrom = 0;
  #candidateCount = 0;
  /** First reading that no longer fits the regime, milliseconds; null while they fit. */
  #leftFrom: number | null = null;
  #leftCount = 0;

  /** `idleRpm`: the warm idle speed of this vehicle, if somebody said it. */
  constructor(idleRpm?: number) {
    this.#idleOffset = idleRpm ?? null;
  }

  /** The engine runs from `t` on; after a start that begins with the run-up. Returns the first regime. */
  begin(t: number, started: boolean): Regime {
    this.#window.length = 0;
    this.#regime = started ? "run-up" : "running";
    this.#named = false;
    this.#runUpEnd = started ? t + runningLimits.runUpMs : t;
    this.#candidate = null;
    this.#leftFrom = null;
    return this.#regime;
  }

  /** The instant from which on the regime may still change, or null. */
  get pendingFrom(): number | null {
    if (!this.#named) return this.#runUpEnd;
    return this.#leftFrom;
  }

  /** Returns the regime that holds from an earlier instant on, or null when nothing changes. */
  take(t: number, speed: number, around: Surroundings): { from: number; regime: Regime } | null {
    this.#remember(t, speed);
    if (t < this.#runUpEnd) return null;
    const regime = this.#name(speed, around);
    if (this.#named && regime === this.#regime) {
      this.#candidate = null;
      this.#leftFrom = null;
      return null;
    }
    if (this.#leftFrom === null) {
      this.#leftFrom = this.#named ? t : this.#runUpEnd;
      this.#leftCount = 0;
    }
    this.#leftCount += 1;
    if (regime !== this.#candidate) {
      this.#candidateFrom = this.#named ? t : this.#leftFrom;
      this.#candidate = regime;
      this.#candidateCount = 0;
    }
    this.#candidateCount += 1;
    if (this.#candidateCount >= 2 && t - this.#candidateFrom >= runningLimits.holdMs)
      return this.#become(regime, this.#candidateFrom);
    // What it was is over, although what it is now is not sure yet.
    const over = this.#named && this.#regime !== "running" && this.#leftCount >= 2;
    if (over && t - this.#leftFrom >= runningLimits.holdMs) {
      const from = this.#leftFrom;
      this.#regime = "running";
      return { from, regime: "running" };
    }
    return null;
  }

  #become(regime: Regime, from: number): { from: number; regime: Regime } {
    this.#regime = regime;
    this.#named = true;
    this.#candidate = null;
    this.#leftFrom = null;
    return { from, regime };
  }

  #remember(t: number, speed: number): void {
    const id = Math.floor(t / bucketMs);
    const last = this.#window.at(-1);
    if (last?.id === id) {
      last.low = Math.min(last.low, speed);
      last.high = Math.max(last.high, speed);
    } else {
      this.#window.push({ id, low: speed, high: speed });
    }
    while (this.#window.length > 2 && (this.#window[0]?.id ?? id) <= id - buckets) this.#window.shift();
  }

  #spread(): number {
    if (this.#window.length < 2) return Number.POSITIVE_INFINITY;
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (const bucket of this.#window) {
      low = Math.min(low, bucket.low);
      high = Math.max(high, bucket.high);
    }
    return (high - low) / ((high + low) / 2);
  }

  #name(speed: number, around: Surroundings): Regime {
    const limits = runningLimits;
    const { load, vehicleSpeed, coolant, throttleClosed } = around;
    const share =
      around.manifold === null || around.barometric === null ? null : around.manifold / around.barometric;
    const standing = vehicleSpeed === null || vehicleSpeed <= limits.standing;
    const moving = vehicleSpeed !== null && vehicleSpeed >= limits.overrunMoving;
    const little =
      (load !== null && load <= limits.overrunLoad) || (share !== null && share <= limits.overrunManifold);
    const cut = around.loop === 0x04 && little;
    if (speed >= limits.overrunSpeed && (cut || (moving && throttleClosed === true && little)))
      return "overrun";
    // An engine without a throttle fills its manifold at idle too: where load is known it decides alone, and nobody on
    // the pedal of a vehicle that stands asks for load.
    const resting = standing && throttleClosed === true && speed <= this.#idleCeiling(coolant);
    const filled = !resting && share !== null && share >= limits.highManifold;
    if (load === null ? filled : load >= limits.highLoad) return "load";
    if (standing && throttleClosed !== false && speed <= this.#idleCeiling(coolant)) {
      if (coolant === null) return "idle";
      return coolant >= limits.warm ? "idle-warm" : "idle-cold";
    }
    if (standing && speed > this.#idleCeiling(coolant) && this.#spread() <= limits.heldSpread) return "held";
    if (
      vehicleSpeed !== null &&
      vehicleSpeed >= limits.cruising &&
      throttleClosed !== true &&
      this.#spread() <= limits.cruiseSpread
    )
      return "cruise";
    return "running";
  }

  #idleCeiling(coolant: number | null): number {
    const cold = coolant !== null && coolant < runningLimits.warm;
    if (this.#idleOffset !== null) return this.#idleOffset + (cold ? 800 : 350);
    return cold ? runningLimits.idleCold : runningLimits.idleWarm;
  }
}
