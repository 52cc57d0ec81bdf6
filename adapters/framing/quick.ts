/**
 * The usual replies, read where they stand without a look at every word: whole frames of the known bus, nothing lost,
 * nothing said beside them. `readReply` begins with it, and takes apart itself whatever is unusual in any way; the fold
 * of a long recording (`src/reading/quick.ts`) uses it on the bytes of the file.
 */
import { putAscii } from "../../shared/ascii.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import { checksumSum, crcJ1850 } from "./checksums.ts";
import { transportOf, type Transport } from "./frames.ts";
import { hex2 } from "./hex.ts";
import type { MessagePiece } from "./pieces.ts";

const mostMessages = 16;
const room = 8192;
const longestFrame = 300;
/** Of a frame with a space behind each byte. */
const longestLine = 3 * longestFrame;
/** Of a reply that is handed over as texts. */
const mostLines = 64;

/** Digit values by character code; 255 for what is no upper-case digit. */
const digitOf = new Uint8Array(256).fill(255);
for (const [value, digit] of Array.from("0123456789ABCDEF").entries()) digitOf[digit.charCodeAt(0)] = value;

const names = Array.from({ length: 256 }, (_, byte) => hex2(byte));
const can11Names = Array.from({ length: 8 }, (_, i) => `7E${hex2(8 + i)[1] ?? ""}`);

const tester = 0xf1;
const digit7 = 0x37;
const digitE = 0x45;
const space = 0x20;

export class QuickReply {
  /** Messages found, in the order of their first lines. */
  count = 0;
  /** Bytes of all messages: message `i` stands from `start[i]` up to, not including, `stop[i]`. */
  readonly bytes = new Uint8Array(room);
  readonly start = new Int32Array(mostMessages);
  readonly stop = new Int32Array(mostMessages);
  /** Source address by message: the last byte of the identifier, or the source byte. */
  readonly source = new Int32Array(mostMessages);
  /** 1 where a CAN frame of the message has fewer than eight bytes. */
  readonly short = new Uint8Array(mostMessages);
  readonly #filled = new Int32Array(mostMessages);
  /** Sequence number that must come next. */
  readonly #next = new Int32Array(mostMessages);
  readonly #frame = new Uint8Array(longestFrame);
  readonly #line = new Uint8Array(longestLine);
  /** The message that each line is of, and that of the line which came last. */
  readonly #ofLine = new Int32Array(mostLines);
  #last = 0;
  #length = 0;
  #used = 0;
  #open = 0;
  #transport: Transport = "can11";

  /** A new reply on this bus. */
  begin(protocol: ProtocolId): void {
    this.#transport = transportOf(protocol);
    this.count = 0;
    this.#used = 0;
    this.#open = 0;
  }

  /** A whole reply as `readReply` hands it out; null when anything in it is unusual. */
  pieces(lines: readonly string[], protocol: ProtocolId): MessagePiece[] | null {
    if (lines.length > mostLines) return null;
    this.begin(protocol);
    for (const [at, text] of lines.entries()) {
      if (text.length > longestLine) return null;
      putAscii(text, this.#line);
      if (!this.lineAt(this.#line, 0, text.length)) return null;
      this.#ofLine[at] = this.#last;
    }
    if (!this.whole) return null;
    return Array.from({ length: this.count }, (_, i) => ({
      kind: "message",
      module: this.module(i),
      data: this.bytes.slice(this.start[i], this.stop[i]),
      lines: lines.filter((_line, at) => this.#ofLine[at] === i),
    }));
  }

  /** Takes a line, from the first place up to, not including, the second; false when it is unusual: then all is. */
  lineAt(bytes: Uint8Array, from: number, to: number): boolean {
    switch (this.#transport) {
      case "can11": {
        const last = digitOf[bytes[from + 2] ?? 0] ?? 255;
        if (to - from < 5 || last < 8 || last > 15) return false;
        if (bytes[from] !== digit7 || bytes[from + 1] !== digitE) return false;
        return this.#digits(bytes, from + 3, to) && this.#canFrame(0, 0xe0 + last);
      }
      case "can29": {
        if (!this.#digits(bytes, from, to)) return false;
        const [a, b, c, source = 0] = this.#frame;
        return a === 0x18 && b === 0xda && c === tester && this.#length > 4 && this.#canFrame(4, source);
      }
      case "kwp":
        return this.#digits(bytes, from, to) && this.#kwp();
      case "pwm":
        return this.#digits(bytes, from, to) && this.#threeByteHeader(0x41, false);
      case "vpw":
        return this.#digits(bytes, from, to) && this.#threeByteHeader(0x48, false);
      case "iso9141":
        return this.#digits(bytes, from, to) && this.#threeByteHeader(0x48, true);
    }
  }

  get isCan(): boolean {
    return this.#transport === "can11" || this.#transport === "can29";
  }

  /** All that began has ended. */
  get whole(): boolean {
    return this.#open === 0;
  }

  /** The source address as `readReply` names it. */
  module(i: number): string {
    const source = this.source[i] ?? 0;
    return this.#transport === "can11" ? (can11Names[source & 7] ?? "") : (names[source] ?? "");
  }

  /** Bytes of the line, with or without single spaces between them, into the frame. */
  #digits(bytes: Uint8Array, from: number, to: number): boolean {
    const frame = this.#frame;
    let length = 0;
    let at = from;
    while (at < to) {
      let code = bytes[at] ?? 0;
      if (code === space) {
        at += 1;
        if (at === to) break;
        code = bytes[at] ?? 0;
      }
      const high = digitOf[code] ?? 255;
      const low = at + 1 < to ? (digitOf[bytes[at + 1] ?? 0] ?? 255) : 255;
      if (high > 15 || low > 15 || length === longestFrame) return false;
      frame[length] = (high << 4) | low;
      length += 1;
      at += 2;
    }
    this.#length = length;
    return length > 0;
  }

  #canFrame(at: number, source: number): boolean {
    const carried = this.#length - at;
    const control = this.#frame[at] ?? 0;
    if (carried < 1 || carried > 8) return false;
    const open = this.#openOf(source);
    switch (control >> 4) {
      case 0:
        if (open >= 0 || control === 0 || control > 7 || !isFilled(carried, control + 1)) return false;
        return this.#add(source, at + 1, control) && this.#mark(this.count - 1, carried);
      case 1: {
        const total = ((control & 0x0f) << 8) | (this.#frame[at + 1] ?? 0);
        if (open >= 0 || total <= 7 || carried !== 8 || !this.#reserve(source, total)) return false;
        this.#copy(this.count - 1, at + 2, 6);
        this.#next[this.count - 1] = 1;
        this.#open += 1;
        return true;
      }
      case 2: {
        if (open < 0 || (control & 0x0f) !== this.#next[open]) return false;
        const wanted = Math.min(7, (this.stop[open] ?? 0) - (this.#filled[open] ?? 0));
        if (!isFilled(carried, wanted + 1)) return false;
        this.#mark(open, carried);
        this.#copy(open, at + 1, wanted);
        this.#next[open] = ((control & 0x0f) + 1) & 0x0f;
        if (this.#filled[open] === this.stop[open]) this.#open -= 1;
        return true;
      }
      default:
        return false;
    }
  }

  #mark(i: number, carried: number): true {
    if (carried < 8) this.short[i] = 1;
    return true;
  }

  #threeByteHeader(first: number, bySum: boolean): boolean {
    const end = this.#length - 1;
    if (end < 4 || end > 11 || this.#frame[0] !== first || this.#frame[1] !== 0x6b) return false;
    const contents = this.#frame.subarray(0, end);
    if ((bySum ? checksumSum(contents) : crcJ1850(contents)) !== this.#frame[end]) return false;
    return this.#add(this.#frame[2] ?? 0, 3, end - 3);
  }

  #kwp(): boolean {
    const [format = 0, target, source = 0, fourth = 0] = this.#frame;
    const end = this.#length - 1;
    if (end < 4 || (format & 0x80) === 0 || source === tester || target !== tester) return false;
    const short = format & 0x3f;
    const start = short === 0 ? 4 : 3;
    const length = short === 0 ? fourth : short;
    if (length === 0 || end !== start + length) return false;
    return checksumSum(this.#frame.subarray(0, end)) === this.#frame[end] && this.#add(source, start, length);
  }

  #add(source: number, at: number, length: number): boolean {
    if (!this.#reserve(source, length)) return false;
    this.#copy(this.count - 1, at, length);
    return true;
  }

  #reserve(source: number, length: number): boolean {
    if (this.count === mostMessages || this.#used + length > room) return false;
    const i = this.count;
    this.source[i] = source;
    this.short[i] = 0;
    this.start[i] = this.#filled[i] = this.#used;
    this.stop[i] = this.#used + length;
    this.#used += length;
    this.count += 1;
    return true;
  }

  #copy(i: number, at: number, length: number): void {
    this.#last = i;
    const into = this.#filled[i] ?? 0;
    for (let k = 0; k < length; k++) this.bytes[into + k] = this.#frame[at + k] ?? 0;
    this.#filled[i] = into + length;
  }

  /** The message of this source that has not ended yet, or -1. */
  #openOf(source: number): number {
    if (this.#open === 0) return -1;
    for (let i = this.count - 1; i >= 0; i--)
      if (this.source[i] === source && (this.#filled[i] ?? 0) < (this.stop[i] ?? 0)) return i;
    return -1;
  }
}

/** As `joinCanFrames` judges it. */
function isFilled(carried: number, wanted: number): boolean {
  return carried === wanted || carried === 8;
}
