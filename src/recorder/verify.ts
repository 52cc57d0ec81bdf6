/** Says whether a recording is whole, cut short or altered. */
import { createHash, type Hash } from "node:crypto";
import type { EndEvent, Header, RecordingEvent, UnknownEvent } from "../../shared/recording/format.ts";
import { RecordingReader, type Notice } from "../../shared/recording/reader.ts";
import { eachPiece } from "./bytes.ts";
import { gzipDamage } from "./read.ts";

export type VerifyState = "whole" | "cut-short" | "altered";

/** Exit statuses of `verify`; 1 is left for what is no recording or cannot be read. */
export const verifyStatuses: Readonly<Record<VerifyState, number>> = {
  whole: 0,
  "cut-short": 3,
  altered: 4,
};

export interface Verification {
  readonly state: VerifyState;
  /** Why it is not whole, one entry a reason; also old cuts of a file that was carried on and closed. */
  readonly reasons: readonly string[];
  readonly header: Header;
  /** Lines, the header and a torn one included. */
  readonly lines: number;
  /** Recovered events by kind, unknown kinds included. */
  readonly events: Readonly<Record<string, number>>;
  /** Lines that were dropped. */
  readonly dropped: number;
  readonly notices: readonly Notice[];
  /** Time of the latest event, milliseconds since the start. */
  readonly lastTime: number;
  /** Bytes of the recording's text, inflated, and their SHA-256. */
  readonly bytes: number;
  readonly sha256: string;
  readonly gzip: boolean;
  /** The end lines in order, each with whether it agrees with the bytes before it. */
  readonly ends: readonly { readonly line: number; readonly agrees: boolean }[];
}

export interface Scan {
  readonly verification: Verification;
  /** Over all bytes of the file, to carry on from. */
  readonly hash: Hash;
  /** Bytes after the last line feed: a torn line, or a whole one that lacks only its line feed. */
  readonly openBytes: number;
  readonly openWhole: boolean;
}

/** Rejects with `file-missing`, `file-unreadable`, `not-a-recording` or `newer-format`. */
export async function verifyRecording(
  path: string,
  options: { readonly onProgress?: (bytes: number) => void } = {},
): Promise<Verification> {
  return (await scanRecording(path, options)).verification;
}

export async function scanRecording(
  path: string,
  options: { readonly onProgress?: (bytes: number) => void } = {},
): Promise<Scan> {
  const scanner = new Scanner(path);
  const end = await eachPiece(path, (piece) => scanner.push(piece), options.onProgress);
  return scanner.finish(end);
}

const feed = 0x0a;
/** What may not stand after an end line: only marks, facts and notices are added, and an end closes them. */
const neverAdded: ReadonlySet<string> = new Set(["x", "stray", "link", "s"]);

/** Feeds the reader one line at a time, so that the hash of all bytes before each end line is at hand. */
class Scanner {
  readonly #hash = createHash("sha256");
  readonly #reader: RecordingReader;
  readonly #events = new Map<string, number>();
  readonly #notices: Notice[] = [];
  readonly #ends: { line: number; agrees: boolean }[] = [];
  readonly #wrong: { line: number; text: string }[] = [];
  readonly #carriedOn: { line: number; torn: number }[] = [];
  readonly #strays: { line: number; kind: string }[] = [];
  #rest: Uint8Array[] = [];
  #bytes = 0;
  #lines = 0;
  #header: Header | null = null;
  #lastTime = 0;
  #closed = false;

  constructor(path: string) {
    this.#reader = new RecordingReader(
      {
        header: (header) => {
          this.#header = header;
        },
        event: (event, line) => this.#event(event, line),
        unknown: (event, line) => this.#count(event, line),
        notice: (notice) => {
          this.#notices.push(notice);
          this.#wrong.push({ line: notice.line, text: notice.text });
        },
      },
      path,
    );
  }

  push(piece: Uint8Array): void {
    this.#bytes += piece.length;
    let from = 0;
    for (;;) {
      const at = piece.indexOf(feed, from);
      if (at < 0) break;
      this.#rest.push(piece.subarray(from, at + 1));
      this.#line();
      from = at + 1;
    }
    // The piece's memory may be used again by the stream.
    if (from < piece.length) this.#rest.push(Uint8Array.from(piece.subarray(from)));
  }

  #line(): void {
    const [only] = this.#rest;
    const bytes = this.#rest.length === 1 && only !== undefined ? only : Buffer.concat(this.#rest);
    this.#rest = [];
    this.#lines += 1;
    this.#closed = false;
    this.#reader.push(bytes);
    this.#hash.update(bytes);
  }

  #event(event: RecordingEvent, line: number): void {
    this.#count(event, line);
    if (event.k === "end") this.#end(event, line);
    if (event.k === "notice" && event.torn !== undefined) this.#carriedOn.push({ line, torn: event.torn });
  }

  #count(event: RecordingEvent | UnknownEvent, line: number): void {
    this.#events.set(event.k, (this.#events.get(event.k) ?? 0) + 1);
    if (event.t > this.#lastTime) this.#lastTime = event.t;
    if (this.#ends.length > 0 && neverAdded.has(event.k)) this.#strays.push({ line, kind: event.k });
  }

  #end(event: EndEvent, line: number): void {
    this.#ends.push({ line, agrees: event.sha256 === this.#hash.copy().digest("hex") });
    this.#closed = true;
  }

  finish(end: { gzip: boolean; truncated: boolean; damage: string | null }): Scan {
    const open = Buffer.concat(this.#rest);
    const wrongBefore = this.#wrong.length;
    if (open.length > 0) {
      this.#lines += 1;
      this.#closed = false;
      this.#reader.push(open);
    }
    this.#reader.finish();
    this.#hash.update(open);
    // `finish` throws where there was no header line.
    if (this.#header === null) throw new Error("a recording without header was read");
    const tornTail = this.#wrong.length > wrongBefore;
    const damage = gzipDamage(end);
    if (damage !== null) this.#notices.push({ line: 0, text: damage, lost: true });
    const altered = this.#alterations(wrongBefore);
    if (end.damage !== null && damage !== null) altered.push(damage);
    const cuts = this.#cuts(end.truncated, tornTail);
    const state = altered.length > 0 ? "altered" : this.#closed && !end.truncated ? "whole" : "cut-short";
    const verification: Verification = {
      state,
      reasons: [...altered, ...cuts],
      header: this.#header,
      lines: this.#lines,
      events: Object.fromEntries(this.#events),
      dropped: this.#wrong.length,
      notices: this.#notices,
      lastTime: this.#lastTime,
      bytes: this.#bytes,
      sha256: this.#hash.copy().digest("hex"),
      gzip: end.gzip,
      ends: this.#ends,
    };
    return {
      verification,
      hash: this.#hash,
      openBytes: open.length,
      openWhole: open.length > 0 && !tornTail,
    };
  }

  #alterations(wrongLines: number): string[] {
    const torn = new Set(this.#carriedOn.filter((c) => c.torn > 0).map((c) => c.line - 1));
    return [
      ...this.#ends
        .filter((e) => !e.agrees)
        .map((e) => `line ${e.line}: the hash does not agree with the bytes before it`),
      ...this.#wrong
        .slice(0, wrongLines)
        .filter((w) => !torn.has(w.line))
        .map((w) => `line ${w.line}: ${w.text}`),
      ...this.#strays.map((s) => `line ${s.line}: an event of kind ${s.kind} after an end line`),
    ];
  }

  #cuts(truncated: boolean, tornTail: boolean): string[] {
    const cuts = this.#carriedOn.map(
      (c) => `line ${c.line}: the recording was cut short before this and carried on`,
    );
    if (truncated) cuts.push("the compressed file ends too early");
    else if (tornTail) cuts.push("the last line is torn");
    else if (!this.#closed) {
      cuts.push(
        this.#ends.length === 0 ? "there is no end line" : "what was added after the end line was not closed",
      );
    }
    return cuts;
  }
}
