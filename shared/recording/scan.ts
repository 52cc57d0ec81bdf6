/**
 * Reads the line of an exchange where it stands in the text, without making an object of it: nearly every line of
 * a recording is one, and its keys stand in the order in which the writer puts them. Anything unusual (another
 * order, an escape, an exponent) is left to the reader that understands all of JSON.
 */

/** Most reply lines that are scanned. */
const mostLines = 64;

/** One exchange; it is filled anew by each scan. Places are indices into `text`. */
export class ExchangeScan {
  text = "";
  /** Milliseconds since the start. */
  t = 0;
  /** Milliseconds from t; NaN where none came. */
  first = Number.NaN;
  end = Number.NaN;
  askFrom = 0;
  askTo = 0;
  /** Of the command's characters, to find what is known of it. */
  askHash = 0;
  lines = 0;
  readonly lineFrom = new Int32Array(mostLines);
  readonly lineTo = new Int32Array(mostLines);
  #at = 0;
  #number = 0;

  /** False when the text from `from` up to, not including, `to` is not an exchange in its usual form. */
  scan(text: string, from: number, to: number): boolean {
    this.text = text;
    if (!text.startsWith('{"t":', from)) return false;
    this.#at = from + 5;
    if (!this.#digits()) return false;
    this.t = this.#number;
    return (
      this.#skip(',"k":"x","ask":"') && this.#ask() && this.#reply() && this.#delays() && this.#at === to
    );
  }

  #skip(wanted: string): boolean {
    if (!this.text.startsWith(wanted, this.#at)) return false;
    this.#at += wanted.length;
    return true;
  }

  #ask(): boolean {
    const { text } = this;
    let at = this.#at;
    let hash = 0;
    this.askFrom = at;
    for (;;) {
      const code = text.charCodeAt(at);
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
    if (!this.#skip(',"lines":[')) return false;
    if (this.text.charCodeAt(this.#at) === closingBracket) {
      this.#at += 1;
      return true;
    }
    for (;;) {
      if (this.lines === mostLines || this.text.charCodeAt(this.#at) !== quote) return false;
      const from = this.#at + 1;
      if (!this.#string()) return false;
      this.lineFrom[this.lines] = from;
      this.lineTo[this.lines] = this.#at - 1;
      this.lines += 1;
      const next = this.text.charCodeAt(this.#at);
      this.#at += 1;
      if (next === closingBracket) return true;
      if (next !== comma) return false;
    }
  }

  #delays(): boolean {
    if (!this.#skip(',"first":') || !this.#delay()) return false;
    this.first = this.#number;
    if (!this.#skip(',"end":') || !this.#delay()) return false;
    this.end = this.#number;
    if (this.text.charCodeAt(this.#at) === comma && !(this.#skip(',"err":') && this.#string())) return false;
    return this.#skip("}");
  }

  /** From the opening quotation mark to behind the closing one. */
  #string(): boolean {
    const { text } = this;
    let at = this.#at;
    if (text.charCodeAt(at) !== quote) return false;
    for (;;) {
      at += 1;
      const code = text.charCodeAt(at);
      if (code === quote) break;
      if (!isPlain(code)) return false;
    }
    this.#at = at + 1;
    return true;
  }

  #delay(): boolean {
    if (this.text.charCodeAt(this.#at) !== letterN) return this.#digits();
    this.#number = Number.NaN;
    return this.#skip("null");
  }

  /**
   * Digits and decimals, few enough that both the whole of them and the power of ten are exact: then their quotient
   * is the nearest number, as JSON.parse gives it.
   */
  #digits(): boolean {
    const { text } = this;
    const start = this.#at;
    let at = start;
    let value = 0;
    let code = text.charCodeAt(at);
    while (code >= zero && code <= nine) {
      value = value * 10 + (code - zero);
      code = text.charCodeAt(++at);
    }
    const whole = at - start;
    if (whole === 0 || (whole > 1 && text.charCodeAt(start) === zero)) return false;
    let decimals = 0;
    if (code === point) {
      code = text.charCodeAt(++at);
      while (code >= zero && code <= nine) {
        value = value * 10 + (code - zero);
        decimals += 1;
        code = text.charCodeAt(++at);
      }
      if (decimals === 0) return false;
    }
    if (whole + decimals > mostDigits || code === letterE || code === capitalE) return false;
    this.#number = decimals === 0 ? value : value / (powers[decimals] ?? Number.NaN);
    this.#at = at;
    return true;
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

/** Stands for itself in a JSON text; NaN, behind the end of the text, does not. */
function isPlain(code: number): boolean {
  return code >= 0x20 && code !== backslash;
}
