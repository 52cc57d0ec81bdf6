/**
 * The session's own questions to every module: at key on, one between polls. The lanes get at least as much of the line
 * as the questions, a starter gets all of it, and a module that boots late is asked as well.
 */
import type { ProtocolId } from "../../shared/protocols.ts";
import type { Exchange, Plan, PlannedAsk } from "../dialogue/index.ts";
import { hear } from "./heard.ts";
import type { Poller, Vehicle } from "./poller.ts";
import { surveyPlan } from "./surveyPlan.ts";

export const ownSurveyWaits = {
  /** Some modules take seconds to boot; who is there is asked again so long after the first answer. */
  bootMs: 4000,
  /** A vehicle that was silent for this long has had its key off, or its battery. A dip while cranking is shorter. */
  keyOffMs: 5000,
  /** A survey this young is not made again where nothing but key on came since. */
  freshMs: 30_000,
} as const;

/** What `next` asked for: a question of the survey, or who is there. */
export type OwnAsk = PlannedAsk & { readonly roll?: true };

export class OwnSurvey {
  readonly #wanted: boolean;
  #plan: Plan<unknown> | null = null;
  #ask: OwnAsk | null = null;
  /** The lanes have the line until then, milliseconds. */
  #lanesUntil = Number.NEGATIVE_INFINITY;
  /** When who is there is asked again; null: it was. */
  #rollAt: number | null = null;
  #silentSince: number | null = null;
  /** When a whole survey came to its end, milliseconds; null: not since the key was turned on. */
  #doneAt: number | null = null;
  /** A starter turned, or the engine ran, since then. */
  #moved = false;

  constructor(wanted: boolean) {
    this.#wanted = wanted;
  }

  get wanted(): boolean {
    return this.#wanted;
  }

  /** Everything was asked just now, with nothing but key on since. */
  fresh(poller: Poller, now: number): boolean {
    return (
      this.#doneAt !== null &&
      !this.#moved &&
      poller.focus === "survey" &&
      now - this.#doneAt < ownSurveyWaits.freshMs
    );
  }

  /** A vehicle answers, for the first time or after its key was off; `null`: what was begun is dropped. */
  begin(vehicle: Vehicle | null, now: number): void {
    this.#ask = null;
    this.#plan = this.#wanted && vehicle !== null ? surveyPlan(vehicle) : null;
    // Who is there is asked with 0100, which a vehicle on SAE J1979-2 does not answer.
    const rolls = this.#plan !== null && vehicle?.byIdentifier === undefined;
    this.#rollAt = rolls ? now + ownSurveyWaits.bootMs : null;
    this.#doneAt = null;
  }

  /** The vehicle fell silent, or answers again. */
  turned(to: "silent" | "answering", vehicle: Vehicle | null, now: number): void {
    if (to === "silent") {
      this.#silentSince ??= now;
      return;
    }
    const since = this.#silentSince;
    this.#silentSince = null;
    if (since !== null && now - since >= ownSurveyWaits.keyOffMs) this.begin(vehicle, now);
  }

  /** Somebody asked everything, or the same is about to be asked. */
  settled(now: number): void {
    this.#moved = false;
    this.#plan = null;
    this.#ask = null;
    this.#doneAt = now;
  }

  /** The question that may be put now, or null: never while a starter turns, nor when one is waited for. */
  next(poller: Poller, now: number): OwnAsk | null {
    if (poller.focus !== "survey") this.#moved = true;
    if (now < this.#lanesUntil || poller.quiet || poller.armed || poller.focus === "cranking") return null;
    if (poller.spares(now)) return null;
    this.#ask ??= this.#begun(now) ?? this.#roll(now);
    return this.#ask;
  }

  /**
   * Takes the exchange that came of `next`; `tookMs`: how long the lanes stood still for it. True: a module answered
   * that is not known yet.
   */
  take(exchange: Exchange, vehicle: Vehicle, { now, tookMs }: { now: number; tookMs: number }): boolean {
    this.#lanesUntil = now + tookMs;
    const asked = this.#ask;
    this.#ask = null;
    if (asked?.roll === true) return newcomer(exchange, vehicle);
    if (this.#plan !== null) this.#ask = this.#step(this.#plan.next(exchange), now);
    return false;
  }

  /** The first question of a plan. */
  #begun(now: number): OwnAsk | null {
    return this.#plan === null ? null : this.#step(this.#plan.next(), now);
  }

  #roll(now: number): OwnAsk | null {
    if (this.#rollAt === null || now < this.#rollAt) return null;
    this.#rollAt = null;
    return { ask: "0100", roll: true };
  }

  #step(turn: IteratorResult<PlannedAsk, unknown>, now: number): OwnAsk | null {
    if (turn.done !== true) return turn.value;
    this.settled(now);
    return null;
  }
}

function newcomer(exchange: Exchange, vehicle: Vehicle): boolean {
  const protocol: ProtocolId = vehicle.protocol;
  return hear(exchange.answer, [0x00], protocol).answers.some(({ module }) => !vehicle.modules.has(module));
}
