import { SvelteMap } from "svelte/reactivity";
import type { Clock } from "../../../../shared/clock.ts";
import type { Failure } from "../../../../shared/messages.ts";
import type { KeptWords } from "./keptWords.ts";

export type Saved = "kept" | "typing" | "saving" | "failed";

/** `took`: what the page knows by the answer, which comes to stand as the words stop waiting. */
export type Sent =
  { readonly ok: true; readonly took?: () => void } | { readonly ok: false; readonly failure: Failure };

/** What becomes of words that were not taken: tried again soon, held until they change, or taken back. */
export type Then = "soon" | "held" | "taken back";

export interface OutboxWork<T> {
  readonly kept: KeptWords<T>;
  readonly clock: Clock;
  /** So long after the last change words are sent; 0: at once. */
  readonly settleMs: number;
  /** Never rejects. One at a time of each key. */
  send(key: string, words: T): Promise<Sent>;
  /** `first`: these words were not told to wait before. */
  failed(failure: Failure, first: boolean): Then;
  /** What is still to be sent of the words as they are now, after some were saved; left out: those that changed. */
  readonly rest?: (sent: T, now: T | null) => T | null;
}

/** What waits under one key. */
class Waiting<T> {
  /** Null: typed back to what it had been, while something was on its way. */
  words: T | null;
  saved: Saved = $state("typing");
  failure: Failure | null = $state.raw(null);
  /** Ends the wait for its turn; null: it is not due. */
  cancel: (() => void) | null = null;
  onWay: Promise<void> | null = null;

  constructor(words: T | null) {
    this.words = $state.raw(words);
  }
}

const retryAfterMs = 3000;

/**
 * Words on their way to where they are kept for good, by key: a recording, a mark, a job. Until they are there they are
 * kept beside the page, sent, and sent again; whoever turns to another recording or job leaves them here.
 */
export class Outbox<T> {
  readonly #work: OutboxWork<T>;
  readonly #waiting = new SvelteMap<string, Waiting<T>>();
  #careless: boolean = $state(false);
  #closed = false;

  constructor(work: OutboxWork<T>) {
    this.#work = work;
    this.#careless = !work.kept.works();
  }

  /** Words that are not known to be kept; null for none. */
  words(key: string): T | null {
    return this.#waiting.get(key)?.words ?? null;
  }

  /** All words under keys that begin so. */
  all(start: string): T[] {
    return [...this.#waiting].flatMap(([key, { words }]) =>
      key.startsWith(start) && words !== null ? [words] : [],
    );
  }

  saved(key: string): Saved {
    return this.#waiting.get(key)?.saved ?? "kept";
  }

  failure(key: string): Failure | null {
    return this.#waiting.get(key)?.failure ?? null;
  }

  /** Nothing can be kept beside the page. */
  get careless(): boolean {
    return this.#careless;
  }

  /** Closing the page now would lose words. */
  get wouldLose(): boolean {
    return this.#careless && this.#waiting.size > 0;
  }

  /** Null: there is nothing to be sent any more. */
  put(key: string, words: T | null): void {
    this.#careless = !this.#work.kept.write(key, words);
    const waiting = this.#typed(key, words);
    if (waiting.onWay !== null) return;
    if (words === null) this.#forget(key, waiting);
    else if (this.#work.settleMs === 0) void this.flush(key);
    else this.#sendIn(key, waiting, this.#work.settleMs);
  }

  /** What a page that is gone left under this key is there again, and sent with the next turn. */
  bring(key: string): void {
    const words = this.#waiting.has(key) ? null : this.#work.kept.read(key);
    if (words === null) return;
    // As it would be kept today.
    this.#work.kept.write(key, words);
    this.#sendIn(key, this.#typed(key, words), 0);
  }

  bringAll(start: string): void {
    for (const key of this.#work.kept.keys(start)) this.bring(key);
  }

  /** Sends at once what waits under this key, and waits for the answer. */
  async flush(key: string): Promise<void> {
    const waiting = this.#waiting.get(key);
    if (waiting === undefined) return;
    this.#cancel(waiting);
    while (waiting.onWay !== null) await waiting.onWay;
    if (waiting.words === null || this.#waiting.get(key) !== waiting) return;
    waiting.onWay = this.#send(key, waiting, waiting.words).finally(() => {
      waiting.onWay = null;
    });
    await waiting.onWay;
  }

  /** Sends at once whatever is due at some time: the program is there again. */
  retry(): void {
    for (const [key, { cancel }] of this.#waiting) if (cancel !== null) void this.flush(key);
  }

  close(): void {
    this.#closed = true;
    for (const waiting of this.#waiting.values()) this.#cancel(waiting);
  }

  async #send(key: string, waiting: Waiting<T>, sent: T): Promise<void> {
    const { kept, settleMs, rest = (was: T, now: T | null) => (now === was ? null : now) } = this.#work;
    const first = waiting.failure === null;
    waiting.saved = "saving";
    const answer = await this.#work.send(key, sent);
    const { words } = waiting;
    if (answer.ok) answer.took?.();
    const then = answer.ok ? "taken back" : this.#work.failed(answer.failure, first);
    const left = answer.ok ? rest(sent, words) : words === sent && then === "taken back" ? null : words;
    if (left === null) {
      kept.takeAway(key, words ?? sent);
      this.#forget(key, waiting);
    } else if (answer.ok) {
      kept.write(key, left);
      this.#typed(key, left);
      this.#sendIn(key, waiting, settleMs);
    } else {
      waiting.saved = "failed";
      waiting.failure = answer.failure;
      if (then === "soon") this.#sendIn(key, waiting, retryAfterMs);
      // Changed meanwhile, it is another thing.
      else if (words !== sent) this.#sendIn(key, waiting, settleMs);
    }
  }

  #typed(key: string, words: T | null): Waiting<T> {
    const waiting = this.#waiting.get(key) ?? new Waiting(words);
    waiting.words = words;
    waiting.saved = "typing";
    waiting.failure = null;
    this.#waiting.set(key, waiting);
    return waiting;
  }

  #sendIn(key: string, waiting: Waiting<T>, ms: number): void {
    this.#cancel(waiting);
    if (!this.#closed) waiting.cancel = this.#work.clock.after(ms, () => void this.flush(key));
  }

  #cancel(waiting: Waiting<T>): void {
    waiting.cancel?.();
    waiting.cancel = null;
  }

  #forget(key: string, waiting: Waiting<T>): void {
    this.#cancel(waiting);
    this.#waiting.delete(key);
  }
}
