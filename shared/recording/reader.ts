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

/** Longest line that is believed; anything longer is not ours and would only fill the memory. */
const longestLine = 4 * 1024 * 1024;

/**
 * Reads a recording from text in any chunks: `push` as it comes, `finish` once. Wrong lines are reported with
 * number and reason and passed by; unknown kinds are handed on; a torn tail is dropped with a notice. Only the
 * header can throw (`not-a-recording`, `newer-format`); after that the reader is of no further use.
 */
export class RecordingReader {
  #rest = "";
  #line = 0;
  #sawHeader = false;
  #skipping = false;
  readonly #scan = new ExchangeScan();
  readonly #sink: ReaderSink;
  readonly #where: string;

  constructor(sink: ReaderSink, where: string) {
    this.#sink = sink;
    this.#where = where;
  }

  push(text: string): void {
    let from = 0;
    for (;;) {
      const end = text.indexOf("\n", from);
      if (end < 0) break;
      if (this.#rest === "" && !this.#skipping && this.#sawHeader && this.#scanned(text, from, end)) {
        from = end + 1;
        continue;
      }
      const piece = text.slice(from, end);
      const whole = this.#rest === "" ? piece : this.#rest + piece;
      this.#rest = "";
      from = end + 1;
      if (this.#skipping) {
        this.#skipping = false;
        continue;
      }
      this.#take(whole.endsWith("\r") ? whole.slice(0, -1) : whole);
    }
    if (!this.#skipping) this.#rest += text.slice(from);
    // One character more may be the carriage return before a line feed that is still to come.
    if (this.#rest.length > longestLine + 1) {
      this.#overlong();
      this.#rest = "";
      this.#skipping = true;
    }
  }

  /** The end of the text: what stands after the last line feed is torn, unless it reads as a whole event. */
  finish(): void {
    const tail = this.#rest.endsWith("\r") ? this.#rest.slice(0, -1) : this.#rest;
    this.#rest = "";
    if (!this.#sawHeader) {
      this.#take(tail);
      return;
    }
    if (tail === "") return;
    const line = this.#line + 1;
    const parsed = parseEvent(tail);
    if (parsed.kind === "wrong") {
      this.#sink.notice({
        line,
        text: `the last line is torn and was dropped (${tail.length} characters)`,
        lost: true,
      });
      return;
    }
    this.#take(tail);
  }

  #scanned(text: string, from: number, to: number): boolean {
    if (this.#sink.scanned === undefined || to - from > longestLine) return false;
    if (!this.#scan.scan(text, from, to) || !this.#sink.scanned(this.#scan, this.#line + 1)) return false;
    this.#line += 1;
    return true;
  }

  #overlong(): void {
    if (!this.#sawHeader) {
      throw new CranksideError("not-a-recording", "not a recording", {
        expected: "a header line",
        found: `a first line of more than ${longestLine} characters`,
        where: this.#where,
      });
    }
    this.#line += 1;
    this.#sink.notice({
      line: this.#line,
      text: `longer than ${longestLine} characters, passed by`,
      lost: true,
    });
  }

  #take(text: string): void {
    if (text.length > longestLine) {
      this.#overlong();
      return;
    }
    this.#line += 1;
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
