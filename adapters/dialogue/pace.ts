/**
 * Which prompts the adapter still owes, and how long the line itself takes. An adapter gives one prompt for each command,
 * in their order; so a prompt that comes while an earlier one is owed belongs to the earlier command, and its time tells
 * how slow the line is. Times in milliseconds of one clock.
 */
import type { Exchange, ExchangeLimits } from "./machine.ts";

/** A line that takes longer than this is given more time for everything. */
const stretchFromMs = 150;
/** A line that takes this long is told as slow: a turn takes longer than the reply of most modules. */
const slowFromMs = 400;
/** More than any line that can be used. */
const mostLagMs = 5000;
/** Latest answers that are looked at, and those that it takes to call a line slow. */
const window = 8;
const enoughToTell = 3;
/** What is missing for so long does not come any more. */
const forgottenMs = 15_000;
/** How long an owed prompt is waited for, as a multiple of the line's time. */
const patience = 1.5;
/** ... and at least, once an answer came to the wrong question. */
const waryMs = 1500;

/** An adapter that begins anew takes its own time. */
const takesLong: ReadonlySet<string> = new Set(["ATZ", "ATWS"]);

interface Sent {
  readonly ask: string;
  readonly sentMs: number;
}

export class Pace {
  #owed: Sent[] = [];
  /** Owed, and not waited for any more. */
  #missing: Sent[] = [];
  #lags: number[] = [];
  /** Until the line was measured: the first reply's time, or that of a late one. */
  #firstMs = 0;
  /** An answer came to the wrong question: an owed prompt is waited for longer. */
  #wary = false;

  /** Prompts that are still to come. */
  get owed(): number {
    return this.#owed.length;
  }

  /** From a command to its answer where the adapter has nothing to wait for; 0 until something came. */
  get lagMs(): number {
    return this.#lags.length === 0 ? this.#firstMs : Math.max(...this.#lags);
  }

  /** The same limits for an adapter behind a slow line: what the line takes is added to every wait. */
  stretched(limits: ExchangeLimits): ExchangeLimits {
    const by = this.#stretchMs;
    if (by === 0) return limits;
    const { silenceMs, workingMs, wholeMs } = limits;
    return { ...limits, silenceMs: silenceMs + by, workingMs: workingMs + by, wholeMs: wholeMs + by };
  }

  /** 0 on a usual line. */
  get #stretchMs(): number {
    return this.lagMs > stretchFromMs ? this.lagMs : 0;
  }

  /** The least time that the line took lately, when that is much; else null. */
  get slowMs(): number | null {
    if (this.#lags.length < enoughToTell) return null;
    const least = Math.min(...this.#lags);
    return least >= slowFromMs ? least : null;
  }

  /** Quiet that shows that no owed prompt is on its way, at least `settleMs`. */
  quietMs(settleMs: number): number {
    if (this.#owed.length === 0) return settleMs;
    return Math.max(settleMs, this.#stretchMs * patience, this.#wary ? waryMs : 0);
  }

  /** The line was quiet for so long that what is owed is not waited for any more. */
  quiet(): void {
    this.#missing.push(...this.#owed);
    this.#owed = [];
    this.#wary = false;
  }

  /** An answer came that only its own command has: all before it are through. */
  proven(): void {
    this.#missing = [];
  }

  /** The first of these commands of which no answer may still be on its way; null when all of them may. */
  fresh(commands: readonly string[], now: number): string | null {
    this.#missing = this.#missing.filter(({ sentMs }) => now - sentMs < forgottenMs);
    return commands.find((command) => this.#missing.every(({ ask }) => ask !== command)) ?? null;
  }

  /** The adapter began anew: what it was asked before is forgotten. */
  beganAnew(): void {
    this.#owed = [];
    this.#missing = [];
  }

  /** An answer came that belongs to another question: the own one is still to come. */
  misfit({ ask, sentMs }: Sent): void {
    this.#owed.push({ ask, sentMs });
    this.#wary = true;
  }

  /** A prompt came outside any exchange. */
  strayPrompt(now: number): void {
    this.#late(this.#owed.shift(), now);
  }

  /** An exchange ended. Returns the command that its prompt belongs to, where that is an earlier one. */
  ended(exchange: Exchange): string | null {
    const { ask, sentMs, end, first, err } = exchange;
    if (end === null) {
      if (err !== "closed") this.#owed.push({ ask, sentMs });
      return null;
    }
    const oldest = this.#owed.shift();
    if (oldest !== undefined) {
      this.#owed.push({ ask, sentMs });
      this.#late(oldest, sentMs + end);
      return oldest.ask;
    }
    if (ask.startsWith("AT") && !takesLong.has(ask) && first !== null) this.#measured(first);
    else if (this.#firstMs === 0) this.#firstMs = Math.min(first ?? 0, mostLagMs);
    return null;
  }

  #late(of: Sent | undefined, now: number): void {
    if (of === undefined) return;
    const took = Math.min(now - of.sentMs, mostLagMs);
    // A prompt that was lost makes the next one look late: only a line that was not measured yet is believed to be slow.
    if (this.#lags.length === 0) this.#firstMs = Math.max(this.#firstMs, took);
    if (this.#wary && of.ask.startsWith("AT") && !takesLong.has(of.ask)) this.#measured(took);
  }

  #measured(ms: number): void {
    this.#lags = [...this.#lags.slice(1 - window), Math.min(ms, mostLagMs)];
  }
}
