/** The serial rate between adapter and laptop, and what becomes of it when another one is asked for. */
import type { ByteEnd } from "../../../shared/wire.ts";

export type RateManners =
  | "honest"
  /** Answers the command with a question mark. */
  | "refuses"
  /** A clone that says OK, and then cannot be understood. */
  | "garbles"
  /** A clone that confirms the rate and loses bytes at it. */
  | "loses";

/** One byte of so many is lost. */
const losesEvery = 37;

export class RateChange {
  readonly manners: RateManners;
  readonly #end: ByteEnd;
  readonly #own: number;
  #before: number;
  #now: number;
  #said = 0;

  constructor(end: ByteEnd, baud: number, manners: RateManners) {
    this.#end = end;
    this.#own = baud;
    this.#before = baud;
    this.#now = baud;
    this.manners = manners;
  }

  /** Milliseconds of a character: ten bits. */
  get charMs(): number {
    return 10_000 / this.#now;
  }

  to(baud: number): void {
    this.#before = this.#now;
    this.#set(baud);
  }

  /** Nobody confirmed the change. */
  back(): void {
    this.#set(this.#before);
  }

  /** The rate that it begins with. */
  toOwn(): void {
    this.#set(this.#own);
  }

  /** What arrives of a text that is said now. */
  said(text: string): string {
    if (this.#now === this.#own) return text;
    if (this.manners === "garbles") return text.replace(/[^\r]/g, "\u00f8");
    if (this.manners !== "loses") return text;
    return Array.from(text)
      .filter(() => (this.#said += 1) % losesEvery !== 0)
      .join("");
  }

  #set(baud: number): void {
    if (baud === this.#now) return;
    this.#now = baud;
    // A line whose port cannot do it is one of those that are told apart by their test bytes.
    this.#end.setBaud?.(baud).catch(() => undefined);
  }
}
