import type { Clock } from "../../shared/clock.ts";
import type { EventSink } from "../../shared/recording/sink.ts";

/** Longest stray event, characters. */
const mostStray = 4096;

/** Bytes outside any exchange: joined where they follow each other closely, and recorded. */
export class Strays {
  readonly #clock: Clock;
  readonly #joinMs: number;
  readonly #sink: () => EventSink | null;
  #held: { readonly sinceMs: number; text: string; cancel: () => void } | null = null;
  #count = 0;
  #lineStarts = true;
  #listener: ((text: string) => void) | null = null;

  constructor(clock: Clock, joinMs: number, sink: () => EventSink | null) {
    this.#clock = clock;
    this.#joinMs = joinMs;
    this.#sink = sink;
  }

  /** Characters so far. */
  get count(): number {
    return this.#count;
  }

  listen(listener: ((text: string) => void) | null): void {
    this.#listener = listener;
  }

  /** Returns how many prompts are in it: those at the start of a line. */
  add(text: string, now: number): number {
    this.#count += text.length;
    let prompts = 0;
    for (const character of text) {
      if (character === ">" && this.#lineStarts) prompts += 1;
      else this.#lineStarts = character === "\r" || character === "\n";
    }
    const cancel = this.#clock.after(this.#joinMs, () => this.flush());
    if (this.#held === null) this.#held = { sinceMs: now, text, cancel };
    else {
      this.#held.cancel();
      this.#held = { ...this.#held, text: this.#held.text + text, cancel };
    }
    if (this.#held.text.length >= mostStray) this.flush();
    this.#listener?.(text);
    return prompts;
  }

  /** An exchange ended: whether what follows begins a line. */
  begin(atLineStart: boolean): void {
    this.#lineStarts = atLineStart;
  }

  flush(): void {
    const held = this.#held;
    if (held === null) return;
    this.#held = null;
    held.cancel();
    const sink = this.#sink();
    sink?.append({ k: "stray", t: Math.max(0, held.sinceMs - sink.zeroMs), text: held.text });
  }
}
