/** Which rate the adapter's line has: its own, or a faster one that it was asked for; and where it is after a reset. */
import type { Clock } from "../../shared/clock.ts";
import { isReset, isText, type Dialogue, type Exchange, type FasterRate } from "../dialogue/index.ts";
import type { RateMemory } from "./rateMemory.ts";

/** For an answer of the adapter itself at a rate that may be the wrong one. */
const hailMs = 120;
/** A line that was opened again is hailed so often, at one rate and the other, before it is set up regardless. */
const locateTries = 8;
/** After the adapter began anew the faster rate is left alone for so long: a dip seldom comes alone. */
const raiseAgainMs = 5000;
/** Times in `damageWithinMs` that something was damaged on the faster line before it is given up. */
const mostDamaged = 3;
const damageWithinMs = 60_000;

/** At the faster rate an adapter that began anew is deaf to us: it is missed sooner. Its own wait is below this. */
export const fastWaits = { silenceMs: 500, garbledMs: 30 } as const;

export class LineRate {
  readonly #clock: Clock;
  readonly #memory: RateMemory | null;
  /** The adapter's own rate; undefined where the line has none, or it was not found yet. */
  own: number | undefined;
  #fast: FasterRate | null = null;
  #isFast = false;
  #doubted = false;
  /** Why it is hailed: something was damaged, not only the line opened anew. */
  #wasDamaged = false;
  #restMs = Number.NEGATIVE_INFINITY;
  #damaged: number[] = [];

  constructor(clock: Clock, memory: RateMemory | null, own: number | undefined) {
    this.#clock = clock;
    this.#memory = memory;
    this.own = own;
  }

  /** Our side's present rate. */
  get now(): number | undefined {
    return this.#isFast ? this.#fast?.baud : this.own;
  }

  get isFast(): boolean {
    return this.#isFast;
  }

  /** Something at the faster rate was not as it should be: the adapter may be at its own rate again. */
  get doubted(): boolean {
    return this.#doubted;
  }

  /** The line was opened, at the adapter's own rate. */
  opened(): void {
    this.#isFast = false;
    this.#doubted = false;
  }

  /** The adapter began anew: it is at its own rate, and left there for a while. */
  beganAnew(): void {
    this.#restMs = this.#clock.now();
  }

  wantsRaise(dialogue: Dialogue | null): boolean {
    if (this.#memory === null || this.own === undefined || this.#isFast || dialogue?.hasRate !== true)
      return false;
    return this.#clock.now() - this.#restMs >= raiseAgainMs && this.#memory.candidates(this.own).length > 0;
  }

  /** Asks for one rate after the other until one is proven; returns what did not work. */
  async raise(dialogue: Dialogue, says: string): Promise<{ failed: string[]; astray: boolean }> {
    const failed: string[] = [];
    const own = this.own;
    if (this.#memory === null || own === undefined) return { failed, astray: false };
    for (const rate of this.#memory.candidates(own)) {
      const outcome = await dialogue.faster(own, rate, says);
      if (outcome === "proven") {
        this.#memory.prove(rate.baud);
        this.#fast = rate;
        this.#isFast = true;
        this.#damaged = [];
        return { failed, astray: false };
      }
      this.#memory.fail(rate.baud);
      failed.push(`${rate.baud} baud`);
      if (outcome === "astray") {
        // Another try might end in another reset.
        for (const other of this.#memory.candidates(own)) this.#memory.fail(other.baud);
        this.beganAnew();
        return { failed, astray: true };
      }
    }
    return { failed, astray: false };
  }

  /** Looks at what came at the faster rate. */
  judge(exchange: Exchange): void {
    if (!this.#isFast) return;
    const text = exchange.lines.join("");
    const { err } = exchange;
    if (err === "silent" || err === "cut" || isReset(err) || !isWhollyText(text)) this.#doubt();
  }

  judgeStray(text: string): void {
    if (this.#isFast && !isWhollyText(text)) this.#doubt();
  }

  #doubt(): void {
    this.#doubted = true;
    this.#wasDamaged = true;
  }

  /**
   * Is the adapter there at our present rate? If not, the next hail is at the other one. `own`: it answers at its own
   * rate though it was at the faster one, so it began anew. `worn`: it answers, and has been damaged too often.
   */
  async hail(dialogue: Dialogue): Promise<"silent" | "there" | "own" | "worn"> {
    const other = this.#fast !== null && this.own !== undefined && dialogue.hasRate;
    // The own rate first: an adapter that began anew is the one that waits.
    if (this.#doubted && other && this.#isFast) await this.#turn(dialogue);
    const heard = await dialogue.hail(other ? hailMs : 300);
    if (heard.end === null || !isText(heard.answer.join(""))) {
      dialogue.mistrust();
      this.#doubted = false;
      if (other) await this.#turn(dialogue);
      return "silent";
    }
    this.#doubted = false;
    const damaged = this.#wasDamaged;
    this.#wasDamaged = false;
    if (this.#fast === null) return "there";
    if (!this.#isFast) {
      this.beganAnew();
      this.#fast = null;
      return "own";
    }
    if (!damaged) return "there";
    const now = this.#clock.now();
    this.#damaged = [...this.#damaged.filter((at) => now - at < damageWithinMs), now];
    return this.#damaged.length < mostDamaged ? "there" : "worn";
  }

  /** The faster rate is given up: the adapter begins anew at its own. */
  async drop(dialogue: Dialogue): Promise<void> {
    const { own } = this;
    if (own === undefined || this.#fast === null) return;
    this.#memory?.fail(this.#fast.baud);
    this.#fast = null;
    this.#isFast = false;
    await dialogue.resetTo(own);
    this.beganAnew();
  }

  /** Behind a line that was opened again the adapter may still be at the faster rate. */
  async locate(dialogue: Dialogue): Promise<void> {
    if (this.#fast === null) return;
    for (let tries = 0; tries < locateTries; tries++) if ((await this.hail(dialogue)) !== "silent") return;
    if (this.#isFast) await this.#turn(dialogue);
  }

  async #turn(dialogue: Dialogue): Promise<void> {
    const { own } = this;
    if (own === undefined || this.#fast === null) return;
    this.#isFast = !this.#isFast;
    await dialogue.setBaud(this.#isFast ? this.#fast.baud : own);
  }
}

function isWhollyText(text: string): boolean {
  return /^[\r\n\t -~]*$/.test(text);
}
