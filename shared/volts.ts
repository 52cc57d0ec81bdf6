/**
 * The supply voltage, as an adapter tells it: `12.4V`. No checksum covers it, so a reading is believed only where nothing
 * speaks against it. One rule for the live view, for whoever opens a recording, and for the quick way through one. Pure.
 *
 * A reading is one line of digits, a point and mostly a V, in the form that this adapter uses, with its prompt and without
 * an error word. `2.6V` may be what is left of `12.6V`: so nothing counts that stands right behind an exchange without a
 * prompt or behind bytes that nobody asked for, and a reading that looks as if its first digit were lost needs others
 * that say the same.
 */

import { asciiBytes } from "./ascii.ts";
import { statusWordOf } from "./statusWords.ts";

/** What is looked at of an exchange. */
export interface VoltsExchange {
  readonly ask: string;
  readonly lines: readonly string[];
  /** Milliseconds to the prompt; null when none came. */
  readonly end: number | null;
  readonly err?: string | undefined;
}

/** A reading in its right shape. */
export interface ShapedVolts {
  readonly volts: number;
  readonly wholeDigits: number;
  /** Number of decimals, and the character code of the letter behind them (0: none). */
  readonly form: number;
}

/**
 * What stands in the way: nothing; something odd that the next whole exchange puts right; or an exchange without a prompt,
 * of which the rest may come in pieces, until something else was asked and answered.
 */
type Doubt = "none" | "odd" | "broken";

const command = "ATRV";
const point = 0x2e;
const zero = 0x30;
const nine = 0x39;
const letters: ReadonlySet<number> = new Set([0x56, 0x76]);
/** Where nothing else is ever asked, so many whole exchanges in a row show that nothing is late any more. */
const wholeEnough = 8;
/** Error words behind which the next line may be the rest of an earlier one. */
const outOfStep: ReadonlySet<string> = new Set(["silent", "cut", "closed", "late", "STOPPED"]);
/** Readings in a row in another form, or too short, before they are believed. */
const enough = 3;
/** More than any supply of a vehicle; a digit came twice. */
const mostVolts = 40;
/** The step between two readings that a battery may make, volts: a crank pulls from 12.6 to 9.6. */
const mostStep = 3.3;
/** Readings of a supply that stands this high belong to 24 V. */
const highVolts = 16;
/** Without their first digit 10 to 15.9 V end up below 6, and 20 to 29.9 below 10. */
const shortBelow = 6;
const shortBelowHigh = 10;
/** Readings that say the same differ by no more, volts. */
const same = 1;

export class SocketVolts {
  #doubt: Doubt = "none";
  #wholeRun = 0;
  #form = 0;
  #otherForm = 0;
  #others = 0;
  #last = Number.NaN;
  #short = Number.NaN;
  #shorts = 0;

  /** Bytes that belong to no exchange. */
  stray(): void {
    if (this.#doubt === "none") this.#doubt = "odd";
  }

  /** Each exchange in its order, whatever it asked; the voltage where it tells one that is believed, volts. */
  take({ ask, lines, end, err }: VoltsExchange): number | null {
    const broken = end === null || (err !== undefined && outOfStep.has(err));
    if (ask !== command && ask.replace(/\s+/g, "").toUpperCase() !== command) {
      if (broken || lines.some((line) => shapedIn(line) !== null)) this.passed("broken", false);
      else this.passed(lines.length === 0 ? "odd" : "none", answersIt(ask, lines));
      return null;
    }
    const said = lines.map((line) => line.trim()).filter((line) => line !== "");
    if (said[0]?.toUpperCase() === command) said.shift();
    const shaped = said.length === 1 ? shapedIn(said[0] ?? "") : null;
    if (shaped === null || broken || err !== undefined) {
      this.#whole(broken ? "broken" : "odd");
      return null;
    }
    return this.reading(shaped);
  }

  /** An exchange that asked for something else, and what doubt it throws on the next. `proves`: see `answersIt`. */
  passed(doubt: Doubt, proves: boolean): void {
    this.#whole(doubt);
    // Answers come in the order of their questions: this one shows that those before it are through.
    if (doubt === "none" && proves) this.#doubt = "none";
  }

  /** True when nothing spoke against what this exchange tells. */
  #whole(doubt: Doubt): boolean {
    const before = this.#doubt;
    this.#wholeRun = doubt === "none" ? this.#wholeRun + 1 : 0;
    const stays = before === "broken" && this.#wholeRun < wholeEnough;
    this.#doubt = stays ? "broken" : doubt;
    return before === "none";
  }

  /** A reading in its right shape, with its prompt; null when it is not believed. */
  reading({ volts, wholeDigits, form }: ShapedVolts): number | null {
    if (!this.#whole("none") || !this.#isUsual(form) || volts > mostVolts) return null;
    if (this.#maySpoil(volts, wholeDigits)) return null;
    this.#shorts = 0;
    this.#last = volts;
    return volts;
  }

  /** The form of this adapter; another one only when it comes again and again. */
  #isUsual(form: number): boolean {
    if (form === this.#form) {
      this.#others = 0;
      return true;
    }
    this.#others = form === this.#otherForm ? this.#others + 1 : 1;
    this.#otherForm = form;
    if (this.#others < (this.#form === 0 && hasLetter(form) ? 1 : enough)) return false;
    this.#form = form;
    this.#others = 0;
    return true;
  }

  /** A digit may have been lost at its beginning, or have come in. */
  #maySpoil(volts: number, wholeDigits: number): boolean {
    const isCut = wholeDigits === 1 && volts < (this.#last >= highVolts ? shortBelowHigh : shortBelow);
    const isLong = volts >= highVolts && this.#last < highVolts;
    if ((!isCut && !isLong) || Math.abs(volts - this.#last) <= mostStep) return false;
    this.#shorts = Math.abs(volts - this.#short) <= same ? this.#shorts + 1 : 1;
    this.#short = volts;
    return this.#shorts < enough;
  }
}

/** An answer that only this command has: data or a status word to a request, the protocol's number to its question. */
function answersIt(ask: string, lines: readonly string[]): boolean {
  if (ask === "ATDPN") return lines.some((line) => /^A?[0-9A-F]$/.test(line.trim()));
  if (ask.startsWith("AT")) return false;
  return lines.some((line) => statusWordOf(line) !== null || /^[0-9A-F\s:]{5,}$/i.test(line));
}

function shapedIn(line: string): ShapedVolts | null {
  const bytes = asciiBytes(line.trim());
  return shapedVolts(bytes, 0, bytes.length);
}

/** One or two digits, a point, one or two decimals, mostly a V, where they stand; null for anything else. */
export function shapedVolts(bytes: Uint8Array, from: number, to: number): ShapedVolts | null {
  const last = letters.has(bytes[to - 1] ?? 0) ? to - 1 : to;
  let value = 0;
  let wholeDigits = 0;
  let decimals = -1;
  for (let at = from; at < last; at++) {
    const code = bytes[at] ?? 0;
    if (code === point && decimals < 0) decimals = 0;
    else if (code < zero || code > nine || wholeDigits > 2 || decimals > 1) return null;
    else {
      value = value * 10 + (code - zero);
      if (decimals < 0) wholeDigits += 1;
      else decimals += 1;
    }
  }
  if (wholeDigits < 1 || wholeDigits > 2 || decimals < 1) return null;
  const letter = last === to ? 0 : (bytes[last] ?? 0);
  return { volts: value / (decimals === 1 ? 10 : 100), wholeDigits, form: decimals * 256 + letter };
}

function hasLetter(form: number): boolean {
  return form % 256 > 0;
}
