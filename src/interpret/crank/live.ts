/**
 * What a crank shows while it happens: one verdict from the first sag on, revised with each reading, final once the
 * starter was let go. A fold over readings in order of time; what silence tells comes from the time that `tell` is told.
 */
import { socketVoltage } from "../../../shared/decode.ts";
import { supplyScale } from "../../../shared/supply.ts";
import { regimeLimits } from "../folds/regimeLimits.ts";
import { mean, median } from "../maths/stats.ts";
import { leastCrankVolts } from "../report/ranges.ts";
import type { Counted } from "../report/schema.ts";
import { crankLimits } from "./cranks.ts";
import { LiveSupply } from "./liveSupply.ts";

/** Times in milliseconds. */
export const liveLimits = {
  /**
   * So long after the sag, and after so many answers of none, no speed is told. A sensor gives its first speed within a
   * turn or two, which is half a second on a slow battery (common practice).
   */
  noSpeedMs: 1200,
  noSpeedAnswers: 2,
  /** With few answers or none, as on a slow bus, silence alone tells after this. */
  silentMs: 1400,
  /** Counted from the last reading at rest, and so long at least from the first low one: voltage is read now and then. */
  seenMs: 700,
  /** The first turns are a ramp: they are no measure of how fast it turns. */
  rampMs: 600,
  /** Nothing at all was heard for so long: the last verdict is old. */
  unheardMs: 2500,
  /** A speed of zero counts when it is read twice and lasts this long. */
  stoppedMs: 350,
  /** It stood under the starter for the last so long: it stopped by itself. */
  stalledMs: 1000,
  /** An attempt shorter than this, with neither speed nor a second low reading, was none. */
  shortestMs: 300,
  /** The supply holds where its mean lies this far above the least, volts of a 12 V system. */
  holdsVolts: 0.4,
} as const;

export type LiveState =
  /** The supply sags; no speed so far, which is usual. */
  | "starter"
  | "no-speed"
  | "no-answer"
  | "turning"
  | "slow"
  /** No speed any more: the starter is held fast, or the signal alone is gone. */
  | "stopped"
  | "lost"
  | "fired"
  | "runs"
  | "died"
  | "no-fire"
  | "released";

export interface LiveCrank {
  /** Counted from the recording's first, from 1. */
  readonly number: number;
  /** First sag or first speed, and where the starter was let go or the engine stopped; null while it goes on. */
  readonly from: number;
  readonly to: number | null;
  readonly state: LiveState;
  /** A later reading can still change it. */
  readonly provisional: boolean;
  /** Nothing was heard for so many seconds; null where readings come. */
  readonly unheardS: number | null;
  /** The last speed, and the median behind the ramp. */
  readonly rpm: number | null;
  readonly speed: Counted;
  readonly restVolts: number | null;
  readonly volts: number | null;
  readonly lowestVolts: number | null;
  readonly meanVolts: Counted;
  /** The supply falls as far as under a starter that is held fast. */
  readonly deep: boolean;
  /** Whether it turns slowly, and why: the supply falls, or it holds; null where that is not known. */
  readonly slow: "no" | "weak-supply" | "hard-to-turn" | "yes" | null;
  /** Seconds from the sag to firing, and how long it ran then. */
  readonly firedS: number | null;
  readonly ranS: number | null;
  readonly pullDown: number | null;
  readonly crankedS: number;
}

export interface LiveOptions {
  /** Below this it turns slowly, rpm; from this on it runs by itself. */
  readonly slowBelow: number;
  readonly runAt: number;
  /** Least volts under the starter, as the vehicle's facts say; null: by temperature, volts of a 12 V system. */
  readonly leastVolts: number | null;
}

interface Attempt {
  readonly number: number;
  readonly from: number;
  /** It may have begun as early as this. */
  readonly notBefore: number;
  sagged: boolean;
  to: number | null;
  speeds: number[];
  turns: number;
  answers: number;
  asked: number;
  zeroFrom: number | null;
  zeros: number;
  fastFrom: number | null;
  fasts: number;
  firedAt: number | null;
  manifold: number[];
  over: LiveState | null;
}

export class LiveCranks {
  readonly #options: LiveOptions;
  readonly #supply = new LiveSupply();
  #attempt: Attempt | null = null;
  readonly #past: LiveCrank[] = [];
  readonly #owner = new Map<string, { module: string; t: number }>();
  #rpm: { t: number; value: number } | null = null;
  #outside: number | null = null;
  #celsius = 20;
  #last = Number.NEGATIVE_INFINITY;
  /** The engine stood still before, as far as the last speeds tell. */
  #restedBefore = false;

  constructor(options: LiveOptions) {
    this.#options = options;
  }

  /** One reading; NaN is asked and not answered. Times never fall. */
  take(channel: string, module: string, t: number, value: number): void {
    if (!this.#owns(channel, module, t, value)) return;
    if (!Number.isNaN(value)) this.#last = t;
    switch (channel) {
      case "engine-speed":
        this.#takeSpeed(t, value);
        break;
      case socketVoltage:
      case "module-voltage":
        if (!Number.isNaN(value)) this.#takeVolts(channel, t, value);
        break;
      case "intake-air":
      case "coolant":
        // The air has the battery's temperature more nearly than the engine.
        if (!Number.isNaN(value) && (channel === "intake-air" || !this.#owner.has("intake-air")))
          this.#celsius = value;
        break;
      case "barometric":
      case "manifold":
        if (!Number.isNaN(value)) this.#takeAir(channel, t, value);
        break;
    }
  }

  /** The present attempt, or the last one; null before the first. `now`: milliseconds, not before the last reading. */
  tell(now: number): LiveCrank | null {
    const attempt = this.#attempt;
    if (attempt === null) return this.#past.at(-1) ?? null;
    return this.#stateOf(attempt, now);
  }

  /** Attempts that are over, in order. */
  get past(): readonly LiveCrank[] {
    return this.#past;
  }

  #owns(channel: string, module: string, t: number, value: number): boolean {
    const owner = this.#owner.get(channel);
    if (owner === undefined || (owner.t === t && module < owner.module)) {
      if (Number.isNaN(value)) return owner === undefined;
      this.#owner.set(channel, { module, t });
      return true;
    }
    return owner.module === module;
  }

  #takeVolts(channel: string, t: number, volts: number): void {
    const running = this.#attempt === null && this.#isRunning(t);
    const step = this.#supply.take(channel, t, volts, running);
    if (this.#attempt === null) {
      if (step === "sag" && !running) this.#begin(this.#supply.since ?? t, true);
      return;
    }
    // The speed told of it first.
    if (step === "sag") this.#attempt.sagged = true;
    this.#decide(t);
  }

  #isRunning(t: number): boolean {
    return this.#rpm !== null && t - this.#rpm.t < 2000 && this.#rpm.value >= this.#options.runAt;
  }

  #takeAir(channel: "barometric" | "manifold", t: number, value: number): void {
    if (channel === "barometric") this.#outside = value;
    else if (this.#attempt === null) {
      if (this.#rpm === null || this.#rpm.value < regimeLimits.turning) this.#outside ??= value;
    } else if (t - this.#attempt.from > liveLimits.rampMs && this.#attempt.firedAt === null)
      this.#attempt.manifold.push(value);
  }

  #takeSpeed(t: number, value: number): void {
    const before = this.#rpm;
    const answered = !Number.isNaN(value);
    if (answered) this.#rpm = { t, value };
    const turns = answered && value >= regimeLimits.turning;
    const slow = turns && value < this.#options.runAt;
    // A speed alone begins one too: not every adapter tells the voltage.
    const a = this.#attempt ?? this.#beginBySpeed(t, value, before);
    if (a === null) return;
    a.asked += 1;
    if (answered) a.answers += 1;
    if (turns) {
      a.turns += 1;
      a.zeroFrom = null;
      a.zeros = 0;
    } else {
      a.zeroFrom ??= t;
      if (answered) a.zeros += 1;
    }
    if (answered && value >= this.#options.runAt) {
      a.fastFrom ??= t;
      a.fasts += 1;
      if (a.fasts >= 2) a.firedAt ??= a.fastFrom;
    } else if (slow) {
      a.fastFrom = null;
      a.fasts = 0;
      // It kicked, and the starter turns it on.
      if (a.firedAt !== null && this.#supply.sagging) a.firedAt = null;
      if (t - a.from > liveLimits.rampMs && a.firedAt === null) a.speeds.push(value);
    }
    this.#decide(t);
  }

  #beginBySpeed(
    t: number,
    value: number,
    before: { readonly t: number; readonly value: number } | null,
  ): Attempt | null {
    if (Number.isNaN(value)) return null;
    const rested = this.#restedBefore;
    if (value < regimeLimits.turning) this.#restedBefore = true;
    else if (value >= this.#options.runAt) this.#restedBefore = false;
    const twice = before !== null && before.value >= regimeLimits.turning && t - before.t < 2000;
    if (!rested || value < regimeLimits.turning || !twice) return null;
    const attempt = this.#begin(before.t, false);
    attempt.turns = 1;
    // On a slow bus a start may lie between two questions: the first of two fast readings belongs to it.
    if (before.value >= this.#options.runAt) {
      attempt.fastFrom = before.t;
      attempt.fasts = 1;
    }
    return attempt;
  }

  #begin(from: number, sagged: boolean): Attempt {
    const notBefore = sagged ? (this.#supply.notBefore ?? from) : from;
    const attempt: Attempt = {
      ...{ number: this.#past.length + 1, from, notBefore, sagged, to: null, speeds: [], turns: 0 },
      ...{ answers: 0, asked: 0, zeroFrom: null, zeros: 0, fastFrom: null, fasts: 0 },
      ...{ firedAt: null, manifold: [], over: null },
    };
    this.#attempt = attempt;
    return attempt;
  }

  /** Whether it is over, as told by what was read last. */
  #decide(t: number): void {
    const a = this.#attempt;
    if (a === null) return;
    const { runAt } = this.#options;
    const still = a.zeroFrom !== null && a.zeros >= 2 && t - a.zeroFrom >= liveLimits.stoppedMs;
    if (a.firedAt !== null) {
      if (still) this.#end(a, a.zeroFrom ?? t, "died");
      else if (t - a.firedAt >= crankLimits.keptRunningS * 1000 && (this.#rpm?.value ?? 0) >= runAt)
        this.#end(a, a.firedAt, "runs");
      return;
    }
    const back = this.#supply.backSince;
    const released = a.sagged ? back !== null && this.#supply.isBack(t) : still;
    if (!released) return;
    const rpm = this.#rpm;
    // It coasts, or it has just fired: the speed says which.
    const fresh = rpm !== null && rpm.t >= (back ?? a.from) && t - rpm.t < 1500;
    if (fresh && rpm.value >= regimeLimits.turning) return;
    if (!fresh && a.turns > 0 && t - (back ?? t) < 1500) return;
    if (a.turns === 0 && (t - a.from < liveLimits.shortestMs || this.#supply.count < 2)) {
      this.#attempt = null;
      return;
    }
    const end = a.sagged ? (back ?? t) : (a.zeroFrom ?? t);
    if (a.turns > 0) {
      const stood = end - (a.zeroFrom ?? end) >= liveLimits.stalledMs;
      const isSlow = a.speeds.length > 0 && median(a.speeds) < this.#options.slowBelow;
      this.#end(a, end, stood && (isSlow || this.#isHeld(a, end)) ? "stopped" : "no-fire");
      return;
    }
    this.#end(a, end, a.answers === 0 ? "no-answer" : "no-speed");
  }

  #end(a: Attempt, to: number, state: LiveState): void {
    a.to = to;
    a.over = state;
    this.#past.push(this.#stateOf(a, to));
    this.#attempt = null;
    this.#restedBefore = state !== "runs";
    this.#supply.ended();
  }

  #stateOf(a: Attempt, now: number): LiveCrank {
    const supply = this.#supply;
    const scale = supplyScale(supply.rest);
    const speed = a.speeds.length === 0 ? null : { value: median(a.speeds), samples: a.speeds.length };
    const volts = supply.held;
    const meanVolts = volts.length === 0 ? null : { value: mean(volts), samples: volts.length };
    const slow = this.#slow(speed, meanVolts, scale);
    const state = a.over ?? this.#state(a, now, slow !== null && slow !== "no");
    const end = a.to ?? (state === "released" ? (supply.backSince ?? now) : now);
    const starterEnd = a.firedAt ?? end;
    const unheard = now - this.#last;
    return {
      number: a.number,
      from: a.from,
      to: a.to,
      state,
      provisional: a.over === null,
      unheardS: a.over === null && unheard >= liveLimits.unheardMs ? unheard / 1000 : null,
      rpm: this.#rpm?.value ?? null,
      speed,
      restVolts: supply.rest,
      volts: supply.now,
      lowestVolts: supply.lowest,
      meanVolts,
      deep:
        meanVolts !== null &&
        (meanVolts.value < crankLimits.deepVolts * scale ||
          (supply.rest ?? 0) - meanVolts.value >= crankLimits.deepSag * scale),
      slow,
      firedS: a.firedAt === null ? null : (a.firedAt - a.from) / 1000,
      ranS:
        a.firedAt === null ? null : ((state === "died" ? end : Math.max(now, a.firedAt)) - a.firedAt) / 1000,
      pullDown: this.#outside === null || a.manifold.length < 2 ? null : this.#outside - median(a.manifold),
      crankedS: Math.max(0, starterEnd - a.from) / 1000,
    };
  }

  #slow(speed: Counted, volts: Counted, scale: number): LiveCrank["slow"] {
    if (speed === null || speed.samples < 2) return null;
    if (speed.value >= this.#options.slowBelow) return "no";
    const least = this.#options.leastVolts ?? leastCrankVolts(this.#celsius) * scale;
    if (volts === null) return "yes";
    if (volts.value > least + liveLimits.holdsVolts * scale) return "hard-to-turn";
    return volts.value < least ? "weak-supply" : "yes";
  }

  /** A motor that is held draws the most, so its volts lie below those while it turned; a lost signal leaves them. */
  #isHeld(a: Attempt, now: number): boolean {
    const zeroFrom = a.zeroFrom ?? now;
    const standing = this.#supply.meanHeld(zeroFrom, now + 1);
    const turning = this.#supply.meanHeld(a.from, zeroFrom);
    const scale = supplyScale(this.#supply.rest);
    return standing === null || turning === null || turning - standing >= crankLimits.stalledBelow * scale;
  }

  #state(a: Attempt, now: number, isSlow: boolean): LiveState {
    if (a.firedAt !== null) return "fired";
    const { backSince } = this.#supply;
    if (a.sagged && backSince !== null && this.#supply.isBack(now)) return "released";
    const standing = a.zeroFrom !== null && a.zeros >= 2 && now - a.zeroFrom >= liveLimits.stoppedMs;
    if (a.turns > 0 && standing) return isSlow || this.#isHeld(a, now) ? "stopped" : "lost";
    if (a.turns > 0) return isSlow ? "slow" : "turning";
    const seen = now - a.from;
    const since = seen < liveLimits.seenMs ? 0 : Math.min(now - a.notBefore, seen + liveLimits.seenMs);
    const { noSpeedMs, noSpeedAnswers, silentMs } = liveLimits;
    const none = (a.zeros >= noSpeedAnswers && since >= noSpeedMs) || (a.zeros > 0 && since >= silentMs);
    if (none) return "no-speed";
    return since >= silentMs && a.answers === 0 ? "no-answer" : "starter";
  }
}
