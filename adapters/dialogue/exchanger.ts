import type { Clock } from "../../shared/clock.ts";
import { CranksideError, isCranksideError, messageOf } from "../../shared/errors.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { Judge } from "./judge.ts";
import {
  bytesOf,
  resting,
  step,
  type Exchange,
  type ExchangeLimits,
  type Input,
  type State,
} from "./machine.ts";
import type { DialogueOptions } from "./options.ts";
import type { Pace } from "./pace.ts";
import { Strays } from "./strays.ts";
import { causeOf, closedError, recordExchange } from "./tap.ts";
import { isReset } from "./words.ts";

/** Settling is given up after this many times of new noise: the line is never quiet. */
const mostSettling = 25;

interface Waiter {
  /** Where this exchange is recorded, whatever becomes of the sink meanwhile. */
  readonly sink: EventSink | null;
  resolve(exchange: Exchange): void;
  reject(error: CranksideError): void;
}

/** Told before the exchange, or the stray bytes, that showed it reach anybody else. */
export interface ExchangerHost {
  /** Something came that does not fit what was asked. */
  odd(): void;
  /** The adapter began anew. */
  reset(): void;
}

/**
 * Any one command out and its reply in, over one end of a line, and the raw tap: each exchange and each stray byte is in
 * the sink before anybody sees it. Which command may go out, and when, is for the dialogue to say.
 */
export class Exchanger {
  readonly #end: ByteEnd;
  readonly #clock: Clock;
  readonly #host: ExchangerHost;
  readonly #strays: Strays;
  readonly #judge = new Judge();
  readonly #settleMs: number;
  #sink: EventSink | null;
  #state: State = resting;
  #waiter: Waiter | null = null;
  #cancelTimer: (() => void) | null = null;
  #armedMs = 0;
  #over: CranksideError | null = null;
  #lostListener: ((why: CranksideError | null) => void) | null = null;
  #exchangeListener: ((exchange: Exchange) => void) | null = null;
  #settling: { cancel: () => void; reject: (error: CranksideError) => void } | null = null;
  /** Told once when the running exchange has brought an OK. */
  #agreed: (() => void) | null = null;

  constructor(
    end: ByteEnd,
    clock: Clock,
    { sink, settleMs, strayMs }: Pick<DialogueOptions, "settleMs" | "strayMs"> & { sink: EventSink | null },
    host: ExchangerHost,
  ) {
    this.#end = end;
    this.#clock = clock;
    this.#host = host;
    this.#settleMs = settleMs;
    this.#sink = sink;
    this.#strays = new Strays(clock, strayMs, () => this.#sink);
    end.onBytes((bytes) => this.#feed({ kind: "bytes", now: clock.now(), bytes }));
    end.onClose((why) => this.#ended(why));
  }

  get closed(): boolean {
    return this.#over !== null;
  }

  /** How long this line takes, and the prompts that it owes. */
  get pace(): Pace {
    return this.#judge.pace;
  }

  onClose(listener: (why: CranksideError | null) => void): void {
    this.#lostListener = listener;
    if (this.#over !== null) listener(causeOf(this.#over));
  }

  onStray(listener: ((text: string) => void) | null): void {
    this.#strays.listen(listener);
  }

  onExchange(listener: (exchange: Exchange) => void): void {
    this.#exchangeListener = listener;
  }

  setSink(sink: EventSink | null): void {
    this.#strays.flush();
    this.#sink = sink;
  }

  get hasRate(): boolean {
    return this.#end.setBaud !== undefined;
  }

  async setBaud(baud: number): Promise<void> {
    await this.#end.setBaud?.(baud);
    this.#judge.rateChanged();
  }

  async close(): Promise<void> {
    this.#ended(null);
    await this.#end.close();
  }

  /** Waits until nothing late is on its way any more: for the prompts that are owed, and then for quiet. False when
   * prompts stayed away: they were lost, or are later still. */
  async letPass(): Promise<boolean> {
    const settleMs = this.#settleMs;
    let since = this.#clock.now();
    for (let noisy = 0; noisy < mostSettling;) {
      const before = this.#strays.count;
      await this.settle(settleMs);
      const now = this.#clock.now();
      if (this.#strays.count !== before) {
        noisy += 1;
        since = now;
      } else if (now - since >= this.#judge.pace.quietMs(settleMs)) break;
    }
    const sure = this.#judge.pace.owed === 0;
    this.#judge.pace.quiet();
    return sure;
  }

  /** Sends nothing for so long; rejects where the line goes away meanwhile. */
  settle(ms: number): Promise<void> {
    return new Promise((resolve, reject) => {
      if (this.#over !== null) {
        reject(this.#over);
        return;
      }
      const cancel = this.#clock.after(ms, () => {
        this.#settling = null;
        resolve();
      });
      this.#settling = { cancel, reject };
    });
  }

  /** One at a time. `agreed` is called once when the reply has an OK in it, before the prompt. */
  exchange(ask: string, limits: ExchangeLimits, agreed: (() => void) | null = null): Promise<Exchange> {
    return new Promise((resolve, reject) => {
      if (this.#over !== null) {
        reject(this.#over);
        return;
      }
      this.#strays.flush();
      this.#agreed = agreed;
      // The waiter stands before the write: an answer may come before the write is reported done.
      this.#waiter = { sink: this.#sink, resolve, reject };
      this.#feed({ kind: "sent", now: this.#clock.now(), ask, limits: this.#judge.pace.stretched(limits) });
      this.#arm();
      this.#end.write(bytesOf(`${ask}\r`)).catch((error: unknown) => this.#writeFailed(error));
    });
  }

  #writeFailed(error: unknown): void {
    if (this.#over !== null) return;
    const why = isCranksideError(error)
      ? error
      : new CranksideError(
          "link-failed",
          "writing failed",
          { found: messageOf(error), where: this.#end.name },
          error,
        );
    this.#ended(why);
    // The line is of no further use; that it cannot even be closed changes nothing for anybody.
    this.#end.close().catch(() => undefined);
  }

  #feed(input: Input): void {
    const { state, ended, stray } = step(this.#state, input);
    this.#state = state;
    const agreed = this.#agreed;
    if (agreed !== null && (state.at === "asking" ? state : ended)?.lines.includes("OK") === true) {
      this.#agreed = null;
      agreed();
    }
    if (ended !== null) this.#finished(ended);
    else if (state.at === "asking" && state.dueMs < this.#armedMs) this.#arm();
    if (stray !== "") this.#strayed(stray, input.now);
  }

  #strayed(text: string, now: number): void {
    const prompts = this.#strays.add(text, now);
    if (this.#judge.stray(text, prompts, now)) this.#host.odd();
  }

  #finished(exchange: Exchange): void {
    const waiter = this.#waiter;
    this.#waiter = null;
    this.#agreed = null;
    this.#cancelTimer?.();
    this.#cancelTimer = null;
    if (waiter === null) return;
    this.#strays.begin(exchange.end !== null || (exchange.returns ?? 0) > 0);
    const { judged, odd } = this.#judge.take(exchange);
    if (odd) this.#host.odd();
    recordExchange(judged, waiter.sink);
    if (isReset(judged.err)) this.#host.reset();
    this.#exchangeListener?.(judged);
    if (judged.err === "closed") waiter.reject(this.#over ?? closedError(this.#end.name, null));
    else waiter.resolve(judged);
  }

  /** One timer at a time; bytes mostly move the due time on, which is looked at when the timer rings. */
  #arm(): void {
    if (this.#state.at !== "asking") return;
    this.#cancelTimer?.();
    this.#armedMs = this.#state.dueMs;
    this.#cancelTimer = this.#clock.after(this.#state.dueMs - this.#clock.now(), () => {
      this.#feed({ kind: "timeout", now: this.#clock.now() });
      this.#arm();
    });
  }

  #ended(why: CranksideError | null): void {
    if (this.#over !== null) return;
    this.#over = closedError(this.#end.name, why);
    this.#feed({ kind: "closed", now: this.#clock.now() });
    this.#strays.flush();
    this.#settling?.cancel();
    this.#settling?.reject(this.#over);
    this.#settling = null;
    this.#lostListener?.(why);
  }
}
