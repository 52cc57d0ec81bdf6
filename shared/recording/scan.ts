/**
 * Reads the line of an exchange where its bytes stand, without making a text or an object of it: nearly every line of
 * a recording is one, and its keys stand in the order in which the writer puts them. Anything unusual (another
 * order, an escape, an exponent, a character beyond ASCII) is left to the reader that understands all of JSON.
 */
import { asciiBytes, standsAt } from "../ascii.ts";
import { longestMs } from "./format.ts";

/** Most reply lines that are scanned. */
const mostLines = 64;

/** One exchange; it is filled anew by each scan. Places are indices into `bytes`. */
export class ExchangeScan {
  bytes: Uint8Array = new Uint8Array(0);
  /** Milliseconds since the start. */
  t = 0;
  /** Milliseconds from t; NaN where none came. */
  first = Number.NaN;
  end = Number.NaN;
  askFrom = 0;
  askTo = 0;
  /** Of the command's characters, to find what is known of it. */
  askHash = 0;
  /** The error word; -1 when there is none. */
  errFrom = -1;
  errTo = -1;
  lines = 0;
  readonly lineFrom = new Int32Array(mostLines);
  readonly lineTo = new Int32Array(mostLines);
  #at = 0;
  #number = 0;

  /**
   * The place behind the exchange that stands at `from` in its usual form, or -1 when something else stands there. A
   * line feed must follow somewhere: nothing is read beyond the first one.
   */
  scan(bytes: Uint8Array, from: number): number {
    this.bytes = bytes;
    this.#at = from;
    if (!this.#skip(beforeTime) || !this.#digits()) return -1;
    this.t = this.#number;
    return this.#skip(beforeAsk) && this.#ask() && this.#reply() && this.#delays() ? this.#at : -1;
  }

  #skip(wanted: Uint8Array): boolean {
    if (!standsAt(wanted, this.bytes, this.#at)) return false;
    this.#at += wanted.length;
    return true;
  }

  #ask(): boolean {
    const { bytes } = this;
    let at = this.#at;
    let hash = 0;
    this.askFrom = at;
    for (;;) {
      const code = bytes[at] ?? 0;
      if (code === quote) break;
      if (!isPlain(code)) return false;
      hash = (Math.imul(hash, 31) + code) | 0;
      at += 1;
    }
    this.askTo = at;
    this.askHash = hash;
    this.#at = at + 1;
    return true;
  }

  #reply(): boolean {
    this.lines = 0;
    if (!this.#skip(beforeLines)) return false;
    if (this.bytes[this.#at] === closingBracket) {
      this.#at += 1;
      return true;
    }
    for (;;) {
      if (this.lines === mostLines || this.bytes[this.#at] !== quote) return false;
      const from = this.#at + 1;
      if (!this.#string()) return false;
      this.lineFrom[this.lines] = from;
      this.lineTo[this.lines] = this.#at - 1;
      this.lines += 1;
      const next = this.bytes[this.#at];
      this.#at += 1;
      if (next === closingBracket) return true;
      if (next !== comma) return false;
    }
  }

  #delays(): boolean {
    if (!this.#skip(beforeFirst) || !this.#delay()) return false;
    this.first = this.#number;
    if (!this.#skip(beforeEnd) || !this.#delay()) return false;
    this.end = this.#number;
    return this.#error() && this.#skip(closing);
  }

  #error(): boolean {
    this.errFrom = this.errTo = -1;
    if (this.bytes[this.#at] !== comma) return true;
    if (!this.#skip(beforeError)) return false;
    this.errFrom = this.#at + 1;
    if (!this.#string()) return false;
    this.errTo = this.#at - 1;
    return true;
  }

  /** From the opening quotation mark to behind the closing one. */
  #string(): boolean {
    const { bytes } = this;
    let at = this.#at;
    if (bytes[at] !== quote) return false;
    for (;;) {
      at += 1;
      const code = bytes[at] ?? 0;
      if (code === quote) break;
      if (!isPlain(code)) return false;
    }
    this.#at = at + 1;
    return true;
  }

  #delay(): boolean {
    if (this.bytes[this.#at] !== letterN) return this.#digits();
    this.#number = Number.NaN;
    return this.#skip(nothing);
  }

  /**
   * Digits and decimals, few enough that both the whole of them and the power of ten are exact: then their quotient
   * is the nearest number, as JSON.parse gives it.
   */
  #digits(): boolean {
    const { bytes } = this;
    const start = this.#at;
    let at = start;
    let value = 0;
    let code = bytes[at] ?? 0;
    while (code >= zero && code <= nine) {
      value = value * 10 + (code - zero);
      code = bytes[++at] ?? 0;
    }
    const whole = at - start;
    if (whole === 0 || (whole > 1 && bytes[start] === zero)) return false;
    let decimals = 0;
    if (code === point) {
      code = bytes[++at] ?? 0;
      while (code >= zero && code <= nine) {
        value = value * 10 + (code - zero);
        decimals += 1;
        code = bytes[++at] ?? 0;
      }
      if (decimals === 0) return false;
    }
    if (whole + decimals > mostDigits || code === letterE || code === capitalE) return false;
    this.#number = decimals === 0 ? value : value / (powers[decimals] ?? Number.NaN);
    this.#at = at;
    return this.#number <= longestMs;
  }
}

const mostDigits = 15;
const powers = Array.from({ length: mostDigits + 1 }, (_, i) => 10 ** i);
const quote = 0x22;
const comma = 0x2c;
const point = 0x2e;
const zero = 0x30;
const nine = 0x39;
const capitalE = 0x45;
const backslash = 0x5c;
const closingBracket = 0x5d;
const letterE = 0x65;
const letterN = 0x6e;

const beforeTime = asciiBytes('{"t":');
const beforeAsk = asciiBytes(',"k":"x","ask":"');
const beforeLines = asciiBytes(',"lines":[');
const beforeFirst = asciiBytes(',"first":');
const beforeEnd = asciiBytes(',"end":');
const beforeError = asciiBytes(',"err":');
const nothing = asciiBytes("null");
const closing = asciiBytes("}");

/** A character of ASCII that stands for itself in a JSON text. */
function isPlain(code: number): boolean {
  return code >= 0x20 && code < 0x80 && code !== backslash;
}
