import { CranksideError } from "../errors.ts";
import type { Header, RecordingEvent, UnknownEvent } from "./format.ts";
import { parseEvent, parseHeader } from "./parse.ts";
import { ExchangeScan } from "./scan.ts";

/** Something a person should know about the file; `lost` says that content was dropped. */
export interface Notice {
  readonly line: number;
  readonly text: string;
  readonly lost: boolean;
}

export interface ReaderSink {
  header(header: Header): void;
  event(event: RecordingEvent, line: number): void;
  /** An exchange in its usual form. True: it is taken; false: it shall come as an event. */
  scanned?(exchange: ExchangeScan, line: number): boolean;
  unknown?(event: UnknownEvent, line: number): void;
  notice(notice: Notice): void;
}

/** Longest line that is believed, bytes; anything longer is not ours and would only fill the memory. */
const longestLine = 4 * 1024 * 1024;
const feed = 0x0a;
const carriageReturn = 0x0d;
const noBytes = new Uint8Array(0);

/**
 * Reads a recording from its bytes, or their text, in any chunks: `push` as it comes, `finish` once. Wrong lines are
 * reported with number and reason and passed by; unknown kinds are handed on; a torn tail is dropped with a notice.
 * Only the header can throw (`not-a-recording`, `newer-format`); after that the reader is of no further use.
 */
export class RecordingReader {
  /** The beginning of a line whose end has not come yet; it is the reader's own memory. */
  #rest: Uint8Array[] = [];
  #restLength = 0;
  /** The first half of a character that a text was cut in. */
  #half = "";
  #line = 0;
  #sawHeader = false;
  #skipping = false;
  readonly #scan = new ExchangeScan();
  /** Not fatal: a wrong byte becomes a replacement character, and the line is judged like any other. */
  readonly #decoder = new TextDecoder("utf-8", { ignoreBOM: true });
  readonly #encoder = new TextEncoder();
  readonly #sink: ReaderSink;
  readonly #where: string;

  constructor(sink: ReaderSink, where: string) {
    this.#sink = sink;
    this.#where = where;
  }

  /** The bytes may be used again for others after this. */
  push(chunk: string | Uint8Array): void {
    if (typeof chunk !== "string") {
      this.#take(chunk);
      return;
    }
    const text = this.#half + chunk;
    this.#half = /[\uD800-\uDBFF]$/.exec(text)?.[0] ?? "";
    this.#take(this.#encoder.encode(text.slice(0, text.length - this.#half.length)));
  }

  #take(bytes: Uint8Array): void {
    const last = bytes.lastIndexOf(feed);
    let from = 0;
    while (from <= last) {
      if (this.#restLength === 0 && !this.#skipping && this.#sawHeader) {
        const next = this.#scanned(bytes, from);
        if (next > from) {
          from = next;
          continue;
        }
      }
      const end = bytes.indexOf(feed, from);
      const line = this.#whole(bytes.subarray(from, end));
      from = end + 1;
      if (this.#skipping) this.#skipping = false;
      else this.#lineOf(line.at(-1) === carriageReturn ? line.subarray(0, -1) : line);
    }
    if (from === bytes.length || this.#skipping) return;
    // The chunk's memory may be used again by whoever handed it over.
    this.#rest.push(new Uint8Array(bytes.subarray(from)));
    this.#restLength += bytes.length - from;
    // One byte more may be the carriage return before a line feed that is still to come.
    if (this.#restLength > longestLine + 1) {
      this.#overlong();
      this.#whole(noBytes);
      this.#skipping = true;
    }
  }

  /** What was left of the chunks before, and this; nothing is left of them. */
  #whole(bytes: Uint8Array): Uint8Array {
    if (this.#restLength === 0) return bytes;
    const whole = new Uint8Array(this.#restLength + bytes.length);
    let at = 0;
    for (const piece of [...this.#rest, bytes]) {
      whole.set(piece, at);
      at += piece.length;
    }
    this.#rest = [];
    this.#restLength = 0;
    return whole;
  }

  /** The end of the text: what stands after the last line feed is torn, unless it reads as a whole event. */
  finish(): void {
    if (this.#half !== "") this.#take(this.#encoder.encode(this.#half));
    this.#half = "";
    const rest = this.#whole(noBytes);
    const tail = rest.at(-1) === carriageReturn ? rest.subarray(0, -1) : rest;
    if (!this.#sawHeader) {
      this.#lineOf(tail);
      return;
    }
    if (tail.length === 0) return;
    const line = this.#line + 1;
    const text = this.#decoder.decode(tail);
    const parsed = parseEvent(text);
    if (parsed.kind === "wrong") {
      this.#sink.notice({
        line,
        text: `the last line is torn and was dropped (${text.length} characters)`,
        lost: true,
      });
      return;
    }
    this.#lineOf(tail);
  }

  /** Where the next line begins, if a usual exchange stood here and was taken; else -1. */
  #scanned(bytes: Uint8Array, from: number): number {
    if (this.#sink.scanned === undefined) return -1;
    const end = this.#scan.scan(bytes, from);
    if (end < 0 || bytes[end] !== feed || end - from > longestLine) return -1;
    if (!this.#sink.scanned(this.#scan, this.#line + 1)) return -1;
    this.#line += 1;
    return end + 1;
  }

  #overlong(): void {
    if (!this.#sawHeader) {
      throw new CranksideError("not-a-recording", "not a recording", {
        expected: "a header line",
        found: `a first line of more than ${longestLine} bytes`,
        where: this.#where,
      });
    }
    this.#line += 1;
    this.#sink.notice({
      line: this.#line,
      text: `longer than ${longestLine} bytes, skipped`,
      lost: true,
    });
  }

  #lineOf(bytes: Uint8Array): void {
    if (bytes.length > longestLine) {
      this.#overlong();
      return;
    }
    this.#line += 1;
    const text = this.#decoder.decode(bytes);
    if (!this.#sawHeader) {
      const header = parseHeader(text.replace(/^\uFEFF/, ""), this.#where);
      this.#sawHeader = true;
      this.#sink.header(header);
      return;
    }
    if (text === "") return;
    const parsed = parseEvent(text);
    switch (parsed.kind) {
      case "event":
        this.#sink.event(parsed.event, this.#line);
        break;
      case "unknown":
        this.#sink.unknown?.(parsed.event, this.#line);
        break;
      case "wrong":
        this.#sink.notice({ line: this.#line, text: parsed.reason, lost: true });
        break;
    }
  }
}
