/**
 * What the engine was doing, from whatever channels exist: contiguous spans with hysteresis. A pure fold over
 * readings in time order; the readings of one instant are taken together, so their order does not matter.
 */
import { socketVoltage } from "../../../shared/decode.ts";
import type { Regime } from "../../../shared/ranges.ts";
import { Cuts, type RegimeSpan } from "./cuts.ts";
import { Followed, SpareInstants, type InstantReading } from "./followed.ts";
import { regimeLimits, runsFrom, type RegimeFacts } from "./regimeLimits.ts";
import { RunningFold } from "./running.ts";
import { AnswerWatch } from "./silence.ts";
import { SpeedWatch, type Pending } from "./speedWatch.ts";
import { Supply } from "../power/sag.ts";
import { StopWatch } from "../crank/stopping.ts";

export type { RegimeSpan } from "./cuts.ts";

/** What the engine is taken to do, since when; `lastRun` is the last instant at which it ran by itself. */
type Phase =
  | { readonly at: "unknown" | "silent" | "stopped" | "no-speed" | "turning"; readonly from: number }
  | { readonly at: "running"; readonly from: number; lastRun: number };

export class RegimeFold {
  readonly #cuts = new Cuts();
  readonly #running: RunningFold;
  readonly #runAt: number;
  readonly #followed = new Followed();
  readonly #supply = new Supply();
  readonly #answers = new AnswerWatch();
  readonly #stops = new StopWatch();
  readonly #shutsOff: boolean | undefined;
  /** The instant that is being gathered, at `#now`. */
  #instant: InstantReading[] | null = null;
  /** Takes back an instant that `keep` was handed, when it has been looked at for the last time. */
  readonly spare = new SpareInstants();
  #now = Number.NEGATIVE_INFINITY;
  #phase: Phase = { at: "silent", from: 0 };
  readonly #speed: SpeedWatch;
  #late = 0;
  readonly #keep: ((t: number, readings: InstantReading[]) => void) | undefined;

  /** `keep` is handed each whole instant, for folds that follow once its regime is settled. */
  constructor(facts: RegimeFacts = {}, keep?: (t: number, readings: InstantReading[]) => void) {
    this.#keep = keep;
    this.#shutsOff = facts.stopsAtStandstill;
    this.#running = new RunningFold(facts.idleRpm);
    this.#runAt = runsFrom(facts);
    this.#speed = new SpeedWatch(this.#runAt);
  }

  /** Readings with a time before one already taken; they are left out. */
  get late(): number {
    return this.#late;
  }

  /** One reading; NaN is asked and not answered. Times never fall. */
  take(channel: string, module: string, t: number, value: number): void {
    if (t < this.#now) {
      this.#late += 1;
      return;
    }
    if (t !== this.#now) this.finish();
    this.#now = t;
    if (this.#instant !== null) this.#instant.push({ channel, module, value });
    else this.#instant = this.spare.begin(channel, module, value);
  }

  /** Takes the last instant as complete. Call it when a recording has ended. */
  finish(): void {
    const readings = this.#instant;
    if (readings === null) return;
    this.#instant = null;
    this.#process(this.#now, readings);
    if (this.#keep === undefined) this.spare.handBack(readings);
    else this.#keep(this.#now, readings);
  }

  /** Spans from 0 to `until`; the last ones may still change up to `settled`. */
  spans(until: number): RegimeSpan[] {
    return this.#cuts.spans(until);
  }

  /** The span that an instant lies in, looked for from the cut with this index on. */
  placeOf(t: number, index = 0): { index: number; from: number; regime: Regime } {
    return this.#cuts.placeOf(t, index);
  }

  /** Before this instant, milliseconds, no span changes any more. */
  get settled(): number {
    const phase = this.#phase;
    const { pending, before } = this.#speed;
    let settled = Math.min(this.#now, this.#answers.last ?? this.#now);
    if (phase.at === "unknown" || phase.at === "silent") settled = Math.min(settled, phase.from);
    const own = phase.at === "running" ? "run" : phase.at === "turning" ? "crank" : "zero";
    if (pending !== null && pending.category !== own) settled = Math.min(settled, pending.from);
    // A reading at cranking speed just before may still become part of a crank or of a stall.
    if (before?.category === "crank" && before.from > phase.from) settled = Math.min(settled, before.from);
    settled = Math.min(settled, this.#supply.recent(this.#now, regimeLimits.togetherMs) ?? settled);
    if (phase.at === "running")
      settled = Math.min(settled, phase.lastRun, this.#running.pendingFrom ?? settled);
    return settled;
  }

  #process(t: number, readings: readonly InstantReading[]): void {
    this.#noteSilence(t, readings);
    let speed: number | null = null;
    for (const { channel, module, value } of readings) {
      if (channel !== "engine-speed") continue;
      this.#speed.noteAsked();
      if (Number.isNaN(value)) this.#speed.unanswered(t);
      else if (this.#owns(channel, module, readings)) speed = value;
    }
    this.#followed.take(t, readings);
    const running = this.#phase.at === "running";
    for (const { channel, module, value } of readings) {
      if (Number.isNaN(value)) continue;
      if (running && StopWatch.follows(channel) && this.#owns(channel, module, readings))
        this.#stops.take(t, channel, value);
      if (channel === socketVoltage) this.#supply.socket.take(t, value, running);
      else if (channel === "module-voltage" && this.#owns(channel, module, readings))
        this.#supply.module.take(t, value, running);
    }
    if (speed !== null) this.#speed.take(t, speed);
    this.#decide(t, speed);
    const phase = this.#phase;
    if (speed !== null && phase.at === "running" && speed >= this.#runAt) {
      phase.lastRun = t;
      const change = this.#running.take(t, speed, this.#followed.surroundings(t));
      if (change !== null) this.#set(change.from, change.regime);
    }
  }

  #owns(channel: string, module: string, readings: readonly InstantReading[]): boolean {
    return this.#followed.owns(channel, module, readings);
  }

  #noteSilence(t: number, readings: readonly InstantReading[]): void {
    const first = this.#answers.last === null;
    const quietFrom = this.#answers.quietFrom(t);
    const short = this.#phase.at === "turning" && t - (quietFrom ?? t) <= regimeLimits.gapMs;
    const goesOn = short && this.#supply.starterOn(readings, this.#runAt);
    if (quietFrom !== null && !goesOn && this.#phase.at !== "silent" && this.#phase.at !== "no-speed") {
      this.#enter("silent", quietFrom);
      this.#set(quietFrom, "silent");
      this.#supply.forget(t);
      this.#speed.forget();
    }
    const answered = this.#answers.take(t, readings, quietFrom !== null);
    if (answered && this.#phase.at === "silent")
      this.#enter("unknown", first && t <= regimeLimits.silentLeastMs ? 0 : t);
  }

  #decide(t: number, speed: number | null): void {
    switch (this.#phase.at) {
      case "unknown":
        return this.#fromUnknown(t);
      case "silent":
      case "stopped":
        return this.#fromStopped(t);
      case "no-speed":
        return this.#fromNoSpeed(t);
      case "turning":
        return this.#fromTurning(t);
      case "running":
        return this.#fromRunning(this.#phase, t, speed);
    }
  }

  #fromUnknown(t: number): void {
    const { pending } = this.#speed;
    if (pending === null) {
      if (this.#speed.asked || t - this.#phase.from < regimeLimits.togetherMs) {
        this.#set(this.#phase.from, "key-on");
        return;
      }
      this.#withoutSpeed(t);
      return;
    }
    const sure = pending.count >= 2;
    // The first reading of a start may be the only one at rest.
    const wasStopped =
      pending.category === "run" && this.#speed.before?.category === "zero" && this.#atRest(t);
    if (pending.category === "zero" || wasStopped) {
      this.#set(this.#phase.from, "key-on");
      if (sure || wasStopped || this.#atRest(t)) this.#enter("stopped", this.#phase.from);
    } else if (pending.category === "crank") {
      this.#set(this.#phase.from, "cranking");
      if (sure) this.#enter("turning", this.#phase.from);
    } else {
      this.#set(this.#phase.from, "running");
      if (sure) this.#run(this.#phase.from, t, false);
    }
  }

  /** No speed was ever asked: what else tells a running engine. */
  #withoutSpeed(t: number): void {
    const runTime = this.#followed.value("run-time", t);
    const around = this.#followed.surroundings(t);
    const pulled =
      around.manifold !== null && around.barometric !== null && around.manifold < 0.7 * around.barometric;
    this.#set(this.#phase.from, (runTime !== null && runTime > 0) || pulled ? "running" : "key-on");
    this.#fromStopped(t);
  }

  /** Something other than speed says that the engine stands still. */
  #atRest(t: number): boolean {
    const around = this.#followed.surroundings(t);
    if (around.manifold !== null && around.barometric !== null)
      return around.manifold >= regimeLimits.openManifold * around.barometric;
    return this.#followed.value("run-time", t) === 0;
  }

  #fromStopped(t: number): void {
    const { pending } = this.#speed;
    const sag = this.#supply.recent(t, regimeLimits.togetherMs);
    if (pending?.category === "crank" && (pending.count >= 2 || sag !== null)) {
      this.#turn(
        Math.min(
          pending.from,
          sag === null || pending.from - sag > regimeLimits.noSpeedMs ? pending.from : sag,
        ),
      );
      return;
    }
    if (pending !== null && this.#speed.holds("run", t, regimeLimits.startHoldMs)) {
      this.#start(pending, t);
      return;
    }
    // One reading of a sag is noise, unless the module fell silent with it.
    const dumb = sag !== null && this.#speed.lastUnanswered >= sag - regimeLimits.releasedMs;
    const longest = this.#supply.longest(this.#phase.from, dumb ? 1 : 2);
    if (longest === null || (pending !== null && pending.category !== "zero")) return;
    const { from } = longest;
    const ongoing = longest.to === null;
    const length = (longest.to ?? longest.low) - from;
    const asked = this.#speed.lastNone >= from + Math.min(500, length / 2);
    // The rest of a sag whose crank had a speed is only the starter running on.
    const rest = from <= this.#phase.from;
    if (length < (ongoing || rest ? regimeLimits.noSpeedMs : regimeLimits.shortestSagMs)) return;
    if (this.#speed.asked && !asked && this.#phase.at !== "silent") return;
    this.#set(from, this.#speed.asked || this.#phase.at === "silent" ? "no-speed" : "cranking");
    if (ongoing) this.#enter("no-speed", from);
    else {
      this.#set(longest.to ?? t, this.#phase.at === "silent" ? "silent" : "key-on");
      this.#phase = { ...this.#phase, from: longest.to ?? t };
    }
  }

  #fromNoSpeed(t: number): void {
    const { pending } = this.#speed;
    if (pending !== null && pending.from >= this.#phase.from) {
      if (pending.category === "crank" && pending.count >= 2) {
        this.#turn(pending.from);
        return;
      }
      if (this.#speed.holds("run", t, regimeLimits.startHoldMs)) {
        this.#start(pending, t);
        return;
      }
    }
    const end = this.#supply.endedAfter(this.#phase.from);
    if (end === null && this.#supply.sagging) return;
    const quiet = this.#answers.last === null || t - this.#answers.last > regimeLimits.silentLeastMs;
    this.#set(end ?? t, quiet ? "silent" : "key-on");
    this.#enter(quiet ? "silent" : "stopped", end ?? t);
  }

  #fromTurning(t: number): void {
    const { pending } = this.#speed;
    if (pending === null) return;
    if (this.#speed.holds("run", t, regimeLimits.startHoldMs)) {
      this.#run(pending.from, t, true);
    } else if (pending.category === "zero" && this.#supply.sagging) {
      const low = this.#supply.lastLow - pending.from >= regimeLimits.noSpeedMs - regimeLimits.stopHoldMs;
      const back = this.#supply.backSince;
      if (low && this.#speed.holds("zero", t, regimeLimits.noSpeedMs)) {
        this.#set(pending.from, "no-speed");
        this.#enter("no-speed", pending.from);
      } else if (back !== null && t - Math.max(back, pending.from) >= regimeLimits.releasedMs) {
        this.#stop(pending.from, t);
      }
    } else if (this.#speed.holds("zero", t, regimeLimits.stopHoldMs)) {
      this.#stop(pending.from, t);
    }
  }

  /** The starter was let go. */
  #stop(from: number, t: number): void {
    this.#set(from, "key-on");
    this.#enter("stopped", from);
    this.#supply.forget(t);
  }

  #fromRunning(phase: Extract<Phase, { at: "running" }>, t: number, speed: number | null): void {
    const { pending } = this.#speed;
    if (pending === null || pending.category === "run") return;
    const sag = this.#supply.recent(t, regimeLimits.togetherMs);
    const restart =
      pending.category === "crank" &&
      sag !== null &&
      sag > phase.from &&
      sag >= pending.from - regimeLimits.togetherMs;
    if (restart) {
      const stopped = Math.min(phase.lastRun + 1, pending.from);
      this.#set(stopped, this.#wasShutOff(stopped, t) ? "shut-off" : "stall");
      this.#turn(pending.from);
      return;
    }
    if (speed === null || pending.category !== "zero") return;
    if (!this.#speed.holds("zero", t, regimeLimits.stallHoldMs)) return;
    const from = this.#speed.before?.category === "crank" ? this.#speed.before.from : pending.from;
    if (this.#wasShutOff(pending.from, t)) this.#set(from, "shut-off");
    else {
      this.#set(from, "stall");
      this.#set(from + regimeLimits.stallShownMs, "key-on");
    }
    this.#enter("stopped", from);
    this.#supply.forget(t);
  }

  #wasShutOff(from: number, t: number): boolean {
    const outside = this.#followed.surroundings(t).barometric;
    return this.#stops.wasShutOff(from, t, outside, this.#shutsOff);
  }

  #turn(from: number): void {
    this.#set(from, "cranking");
    this.#enter("turning", from);
  }

  /** Out of standing still into running; a reading at cranking speed in between belongs to the crank. */
  #start(pending: Pending, t: number): void {
    if (this.#speed.before?.category === "crank" && this.#speed.before.from >= this.#phase.from)
      this.#set(this.#speed.before.from, "cranking");
    this.#run(pending.from, t, true);
  }

  #run(from: number, t: number, started: boolean): void {
    this.#phase = { at: "running", from, lastRun: from };
    this.#supply.forget(t);
    this.#set(from, this.#running.begin(from, started));
  }

  #enter(at: Exclude<Phase["at"], "running">, from: number): void {
    this.#phase = { at, from };
  }

  #set(from: number, regime: Regime): void {
    this.#cuts.set(from, regime);
  }
}
