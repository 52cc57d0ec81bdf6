/**
 * What the engine was doing, from whatever channels exist: contiguous spans with hysteresis. A pure fold over
 * readings in time order; the readings of one instant are taken together, so their order does not matter.
 */
import type { Regime } from "../../../shared/ranges.ts";
import { Cuts, type RegimeSpan } from "./cuts.ts";
import { SpareInstants, type InstantReading } from "./followed.ts";
import { nextPhase, type Phase, type PhaseStep } from "./phases.ts";
import { regimeLimits, runsFrom, type RegimeFacts } from "./regimeLimits.ts";
import { RunningFold } from "./running.ts";
import { Watches } from "./watches.ts";

export type { RegimeSpan } from "./cuts.ts";

export class RegimeFold {
  readonly #cuts = new Cuts();
  readonly #running: RunningFold;
  readonly #runAt: number;
  readonly #watches: Watches;
  /** The instant that is being gathered, at `#now`. */
  #instant: InstantReading[] | null = null;
  /** Takes back an instant that `keep` was handed, when it has been looked at for the last time. */
  readonly spare = new SpareInstants();
  #now = Number.NEGATIVE_INFINITY;
  #phase: Phase = { at: "silent", from: 0 };
  #late = 0;
  readonly #keep: ((t: number, readings: InstantReading[]) => void) | undefined;

  /** `keep` is handed each whole instant, for folds that follow once its regime is settled. */
  constructor(facts: RegimeFacts = {}, keep?: (t: number, readings: InstantReading[]) => void) {
    this.#keep = keep;
    this.#running = new RunningFold(facts.idleRpm);
    this.#runAt = runsFrom(facts);
    this.#watches = new Watches(this.#runAt, facts.stopsAtStandstill);
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
    const { speed, supply, answers } = this.#watches;
    const { pending, before } = speed;
    let settled = Math.min(this.#now, answers.last ?? this.#now);
    if (phase.at === "unknown" || phase.at === "silent") settled = Math.min(settled, phase.from);
    const own = phase.at === "running" ? "run" : phase.at === "turning" ? "crank" : "zero";
    if (pending !== null && pending.category !== own) settled = Math.min(settled, pending.from);
    // A reading at cranking speed just before may still become part of a crank or of a stall.
    if (before?.category === "crank" && before.from > phase.from) settled = Math.min(settled, before.from);
    settled = Math.min(settled, supply.recent(this.#now, regimeLimits.togetherMs) ?? settled);
    if (phase.at === "running")
      settled = Math.min(settled, phase.lastRun, this.#running.pendingFrom ?? settled);
    return settled;
  }

  #process(t: number, readings: readonly InstantReading[]): void {
    const watches = this.#watches;
    this.#noteSilence(t, readings);
    watches.take(t, readings, this.#phase.at === "running");
    const step = nextPhase(this.#phase, watches, t);
    if (step !== null) this.#follow(step, t);
    const { rpm } = watches;
    if (rpm === null || this.#phase.at !== "running" || rpm < this.#runAt) return;
    this.#phase = { at: "running", from: this.#phase.from, lastRun: t };
    const change = this.#running.take(t, rpm, watches.surroundings(t));
    if (change !== null) this.#cuts.set(change);
  }

  #noteSilence(t: number, readings: readonly InstantReading[]): void {
    const { answers, supply, speed } = this.#watches;
    const first = answers.last === null;
    const quietFrom = answers.quietFrom(t);
    const short = this.#phase.at === "turning" && t - (quietFrom ?? t) <= regimeLimits.gapMs;
    const goesOn = short && supply.starterOn(readings, this.#runAt);
    if (quietFrom !== null && !goesOn && this.#phase.at !== "silent" && this.#phase.at !== "no-speed") {
      this.#phase = { at: "silent", from: quietFrom };
      this.#cuts.set({ from: quietFrom, regime: "silent" });
      supply.forget(t);
      speed.forget();
    }
    const answered = answers.take(t, readings, quietFrom !== null);
    if (answered && this.#phase.at === "silent")
      this.#phase = { at: "unknown", from: first && t <= regimeLimits.silentLeastMs ? 0 : t };
  }

  #follow({ phase, cuts, anew, runs }: PhaseStep, t: number): void {
    this.#phase = phase;
    if (anew) this.#watches.supply.forget(t);
    for (const cut of cuts) this.#cuts.set(cut);
    if (runs !== undefined)
      this.#cuts.set({ from: phase.from, regime: this.#running.begin(phase.from, runs === "started") });
  }
}
