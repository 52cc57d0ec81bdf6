/**
 * What the engine was doing, from whatever channels exist: contiguous spans with hysteresis. A pure fold over
 * readings in time order; the readings of one instant are taken together, so their order does not matter.
 */
import { socketVoltage } from "../../../shared/decode.ts";
import type { Regime } from "../../../shared/ranges.ts";
import { Followed, SpareInstants, type InstantReading } from "./followed.ts";
import { regimeLimits, runsFrom, type RegimeFacts } from "./regimeLimits.ts";
import { RunningFold } from "./running.ts";
import { AnswerWatch } from "./silence.ts";
import { Supply } from "../power/sag.ts";
import { StopWatch } from "../crank/stopping.ts";

/** `from` inclusive, `to` exclusive, milliseconds since the start. */
export interface RegimeSpan {
  readonly from: number;
  readonly to: number;
  readonly regime: Regime;
}

type Phase = "unknown" | "silent" | "stopped" | "no-speed" | "turning" | "running";
type Category = "zero" | "crank" | "run";

interface Pending {
  readonly category: Category;
  readonly from: number;
  count: number;
}

export class RegimeFold {
  readonly #cuts: { from: number; regime: Regime }[] = [{ from: 0, regime: "silent" }];
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
  #phase: Phase = "silent";
  #phaseFrom = 0;
  #pending: Pending | null = null;
  #before: Pending | null = null;
  #lastRun = 0;
  #speedAsked = false;
  /** Last instant at which speed was asked and was zero or not answered. */
  #lastNoSpeed = Number.NEGATIVE_INFINITY;
  #lastUnanswered = Number.NEGATIVE_INFINITY;
  #late = 0;
  readonly #keep: ((t: number, readings: InstantReading[]) => void) | undefined;

  /** `keep` is handed each whole instant, for folds that follow once its regime is settled. */
  constructor(facts: RegimeFacts = {}, keep?: (t: number, readings: InstantReading[]) => void) {
    this.#keep = keep;
    this.#shutsOff = facts.stopsAtStandstill;
    this.#running = new RunningFold(facts.idleRpm);
    this.#runAt = runsFrom(facts);
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
    const spans: RegimeSpan[] = [];
    for (let i = 0; i < this.#cuts.length; i++) {
      const cut = this.#cuts[i];
      if (cut === undefined || cut.from >= until) break;
      const to = Math.min(this.#cuts[i + 1]?.from ?? until, until);
      if (to > cut.from) spans.push({ from: cut.from, to, regime: cut.regime });
    }
    return spans;
  }

  /** The span that an instant lies in, looked for from the cut with this index on. */
  placeOf(t: number, index = 0): { index: number; from: number; regime: Regime } {
    let i = index;
    while ((this.#cuts[i + 1]?.from ?? Number.POSITIVE_INFINITY) <= t) i += 1;
    return { index: i, from: this.#cuts[i]?.from ?? 0, regime: this.#cuts[i]?.regime ?? "silent" };
  }

  /** Before this instant, milliseconds, no span changes any more. */
  get settled(): number {
    let settled = Math.min(this.#now, this.#answers.last ?? this.#now);
    if (this.#phase === "unknown") settled = Math.min(settled, this.#phaseFrom);
    const own = this.#phase === "running" ? "run" : this.#phase === "turning" ? "crank" : "zero";
    if (this.#pending !== null && this.#pending.category !== own)
      settled = Math.min(settled, this.#pending.from);
    // A reading at cranking speed just before may still become part of a crank or of a stall.
    if (this.#before?.category === "crank" && this.#before.from > this.#phaseFrom)
      settled = Math.min(settled, this.#before.from);
    settled = Math.min(settled, this.#supply.recent(this.#now, regimeLimits.togetherMs) ?? settled);
    if (this.#phase === "running")
      settled = Math.min(settled, this.#lastRun, this.#running.pendingFrom ?? settled);
    if (this.#phase === "silent") settled = Math.min(settled, this.#phaseFrom);
    return settled;
  }

  #process(t: number, readings: readonly InstantReading[]): void {
    this.#noteSilence(t, readings);
    let speed: number | null = null;
    for (const { channel, module, value } of readings) {
      if (channel === "engine-speed") {
        this.#speedAsked = true;
        if (Number.isNaN(value)) this.#lastNoSpeed = this.#lastUnanswered = t;
        else if (this.#owns(channel, module, readings)) speed = value;
      }
    }
    this.#followed.take(t, readings);
    for (const { channel, module, value } of readings) {
      if (Number.isNaN(value)) continue;
      if (this.#phase === "running" && StopWatch.follows(channel) && this.#owns(channel, module, readings))
        this.#stops.take(t, channel, value);
      if (channel === socketVoltage) this.#supply.socket.take(t, value, this.#phase === "running");
      else if (channel === "module-voltage" && this.#owns(channel, module, readings))
        this.#supply.module.take(t, value, this.#phase === "running");
    }
    if (speed !== null) this.#takeSpeed(t, speed);
    this.#decide(t, speed);
    if (speed !== null && this.#phase === "running" && speed >= this.#runAt) {
      this.#lastRun = t;
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
    const short = this.#phase === "turning" && t - (quietFrom ?? t) <= regimeLimits.gapMs;
    const goesOn = short && this.#supply.starterOn(readings, this.#runAt);
    if (quietFrom !== null && !goesOn && this.#phase !== "silent" && this.#phase !== "no-speed") {
      this.#enter("silent", quietFrom);
      this.#set(quietFrom, "silent");
      this.#supply.forget(t);
      this.#pending = null;
      this.#before = null;
    }
    const answered = this.#answers.take(t, readings, quietFrom !== null);
    if (answered && this.#phase === "silent")
      this.#enter("unknown", first && t <= regimeLimits.silentLeastMs ? 0 : t);
  }

  #takeSpeed(t: number, speed: number): void {
    if (speed < regimeLimits.turning) this.#lastNoSpeed = t;
    const category: Category = speed < regimeLimits.turning ? "zero" : speed < this.#runAt ? "crank" : "run";
    if (this.#pending?.category === category) {
      this.#pending.count += 1;
      return;
    }
    this.#before = this.#pending;
    this.#pending = { category, from: t, count: 1 };
  }

  #decide(t: number, speed: number | null): void {
    switch (this.#phase) {
      case "unknown":
        this.#fromUnknown(t);
        break;
      case "stopped":
        this.#fromStopped(t);
        break;
      case "no-speed":
        this.#fromNoSpeed(t);
        break;
      case "turning":
        this.#fromTurning(t);
        break;
      case "running":
        this.#fromRunning(t, speed);
        break;
      case "silent":
        this.#fromStopped(t);
        break;
    }
  }

  #fromUnknown(t: number): void {
    const pending = this.#pending;
    if (pending === null) {
      if (this.#speedAsked || t - this.#phaseFrom < regimeLimits.togetherMs) {
        this.#set(this.#phaseFrom, "key-on");
        return;
      }
      this.#withoutSpeed(t);
      return;
    }
    const sure = pending.count >= 2;
    // The first reading of a start may be the only one at rest.
    const wasStopped = pending.category === "run" && this.#before?.category === "zero" && this.#atRest(t);
    if (pending.category === "zero" || wasStopped) {
      this.#set(this.#phaseFrom, "key-on");
      if (sure || wasStopped || this.#atRest(t)) this.#enter("stopped", this.#phaseFrom);
    } else if (pending.category === "crank") {
      this.#set(this.#phaseFrom, "cranking");
      if (sure) this.#enter("turning", this.#phaseFrom);
    } else {
      this.#set(this.#phaseFrom, "running");
      if (sure) this.#run(this.#phaseFrom, t, false);
    }
  }

  /** No speed was ever asked: what else tells a running engine. */
  #withoutSpeed(t: number): void {
    const runTime = this.#followed.value("run-time", t);
    const around = this.#followed.surroundings(t);
    const pulled =
      around.manifold !== null && around.barometric !== null && around.manifold < 0.7 * around.barometric;
    this.#set(this.#phaseFrom, (runTime !== null && runTime > 0) || pulled ? "running" : "key-on");
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
    const pending = this.#pending;
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
    if (pending?.category === "run" && this.#holds(pending, t, regimeLimits.startHoldMs)) {
      this.#start(pending, t);
      return;
    }
    // One reading of a sag is noise, unless the module fell silent with it.
    const dumb = sag !== null && this.#lastUnanswered >= sag - regimeLimits.releasedMs;
    const longest = this.#supply.longest(this.#phaseFrom, dumb ? 1 : 2);
    if (longest === null || (pending !== null && pending.category !== "zero")) return;
    const { from } = longest;
    const ongoing = longest.to === null;
    const length = (longest.to ?? longest.low) - from;
    const asked = this.#lastNoSpeed >= from + Math.min(500, length / 2);
    // The rest of a sag whose crank had a speed is only the starter running on.
    const rest = from <= this.#phaseFrom;
    if (length < (ongoing || rest ? regimeLimits.noSpeedMs : regimeLimits.shortestSagMs)) return;
    if (this.#speedAsked && !asked && this.#phase !== "silent") return;
    this.#set(from, this.#speedAsked || this.#phase === "silent" ? "no-speed" : "cranking");
    if (ongoing) this.#enter("no-speed", from);
    else {
      this.#set(longest.to ?? t, this.#phase === "silent" ? "silent" : "key-on");
      this.#enter(this.#phase, longest.to ?? t);
    }
  }

  #fromNoSpeed(t: number): void {
    const pending = this.#pending;
    if (pending !== null && pending.from >= this.#phaseFrom) {
      if (pending.category === "crank" && pending.count >= 2) {
        this.#turn(pending.from);
        return;
      }
      if (pending.category === "run" && this.#holds(pending, t, regimeLimits.startHoldMs)) {
        this.#start(pending, t);
        return;
      }
    }
    const end = this.#supply.endedAfter(this.#phaseFrom);
    if (end === null && this.#supply.sagging) return;
    const quiet = this.#answers.last === null || t - this.#answers.last > regimeLimits.silentLeastMs;
    this.#set(end ?? t, quiet ? "silent" : "key-on");
    this.#enter(quiet ? "silent" : "stopped", end ?? t);
  }

  #fromTurning(t: number): void {
    const pending = this.#pending;
    if (pending === null) return;
    if (pending.category === "run" && this.#holds(pending, t, regimeLimits.startHoldMs)) {
      this.#run(pending.from, t, true);
    } else if (pending.category === "zero" && this.#supply.sagging) {
      const low = this.#supply.lastLow - pending.from >= regimeLimits.noSpeedMs - regimeLimits.stopHoldMs;
      const back = this.#supply.backSince;
      if (low && this.#holds(pending, t, regimeLimits.noSpeedMs)) {
        this.#set(pending.from, "no-speed");
        this.#enter("no-speed", pending.from);
      } else if (back !== null && t - Math.max(back, pending.from) >= regimeLimits.releasedMs) {
        this.#stop(pending.from, t);
      }
    } else if (pending.category === "zero" && this.#holds(pending, t, regimeLimits.stopHoldMs)) {
      this.#stop(pending.from, t);
    }
  }

  /** The starter was let go. */
  #stop(from: number, t: number): void {
    this.#set(from, "key-on");
    this.#enter("stopped", from);
    this.#supply.forget(t);
  }

  #fromRunning(t: number, speed: number | null): void {
    const pending = this.#pending;
    if (pending === null || pending.category === "run") return;
    const sag = this.#supply.recent(t, regimeLimits.togetherMs);
    const restart =
      pending.category === "crank" &&
      sag !== null &&
      sag > this.#phaseFrom &&
      sag >= pending.from - regimeLimits.togetherMs;
    if (restart) {
      const stopped = Math.min(this.#lastRun + 1, pending.from);
      this.#set(stopped, this.#wasShutOff(stopped, t) ? "shut-off" : "stall");
      this.#turn(pending.from);
      return;
    }
    if (speed === null || pending.category !== "zero") return;
    if (!this.#holds(pending, t, regimeLimits.stallHoldMs)) return;
    const from = this.#before?.category === "crank" ? this.#before.from : pending.from;
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
    if (this.#before?.category === "crank" && this.#before.from >= this.#phaseFrom)
      this.#set(this.#before.from, "cranking");
    this.#run(pending.from, t, true);
  }

  #run(from: number, t: number, started: boolean): void {
    this.#enter("running", from);
    this.#supply.forget(t);
    this.#lastRun = from;
    this.#set(from, this.#running.begin(from, started));
  }

  #holds(pending: Pending, t: number, ms: number): boolean {
    return pending.count >= 2 && t - pending.from >= ms;
  }

  #enter(phase: Phase, from: number): void {
    this.#phase = phase;
    this.#phaseFrom = from;
  }

  /** From this instant on `regime` holds; what was said of later instants is withdrawn. */
  #set(from: number, regime: Regime): void {
    while (this.#cuts.length > 0 && (this.#cuts.at(-1)?.from ?? 0) >= from) this.#cuts.pop();
    if (this.#cuts.at(-1)?.regime !== regime)
      this.#cuts.push({ from: this.#cuts.length === 0 ? 0 : from, regime });
  }
}
