import type { Clock } from "../../shared/clock.ts";
import { CranksideError, isCranksideError, messageOf } from "../../shared/errors.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { permit, permitAlone, permitInRateChange, type DefinedReads } from "./allowed.ts";
import { askOne } from "./alone.ts";
import type { HeaderPair } from "./headers.ts";
import { callForPrompt } from "./calling.ts";
import { requestFor, type ClearConsent } from "./clearing.ts";
import {
  bytesOf,
  resting,
  step,
  type Exchange,
  type ExchangeLimits,
  type Input,
  type State,
} from "./machine.ts";
import { Judge } from "./judge.ts";
import { dialogueDefaults, type DialogueOptions } from "./options.ts";
import type { FasterRate } from "./fasterRates.ts";
import { changeRate, resetAtOldRate, type RateOutcome, type RateTalk } from "./rate.ts";
import { Strays } from "./strays.ts";
import { causeOf, closedError, record } from "./tap.ts";
import { isReset } from "./words.ts";

/** Settling is given up after this many times of new noise: the line is never quiet. */
const mostSettling = 25;

interface Waiter {
  /** Where this exchange is recorded, whatever becomes of the dialogue's sink meanwhile. */
  readonly sink: EventSink | null;
  resolve(exchange: Exchange): void;
  reject(error: CranksideError): void;
}

/**
 * One command at a time over one end of a line, and the raw tap: each exchange and each stray byte is in the sink
 * before anybody sees it. An answer that did not come is an `Exchange` with `err`, not an error; only a line that
 * went away rejects (`link-closed`), and a command that is not permitted (`request-refused`).
 */
export class Dialogue {
  readonly name: string;
  readonly #end: ByteEnd;
  readonly #clock: Clock;
  readonly #options: DialogueOptions;
  readonly #reads: DefinedReads;
  #sink: EventSink | null;
  #state: State = resting;
  #waiter: Waiter | null = null;
  #cancelTimer: (() => void) | null = null;
  #armedMs = 0;
  /** What puts the adapter back to all modules, while it may still be set to one. */
  #headerDue: readonly string[] = [];
  #turn: Promise<unknown> = Promise.resolve();
  #outOfStep = false;
  #unsettled = false;
  #over: CranksideError | null = null;
  #lostListener: ((why: CranksideError | null) => void) | null = null;
  #exchangeListener: ((exchange: Exchange) => void) | null = null;
  readonly #strays: Strays;
  readonly #judge = new Judge();
  #settling: { cancel: () => void; reject: (error: CranksideError) => void } | null = null;
  /** Told once when the running exchange has brought an OK. */
  #agreed: (() => void) | null = null;

  constructor(
    end: ByteEnd,
    clock: Clock,
    options: Partial<DialogueOptions> & {
      readonly sink?: EventSink | null;
      readonly reads?: DefinedReads;
    } = {},
  ) {
    const { sink = null, reads = new Set<string>(), ...waits } = options;
    this.name = end.name;
    this.#end = end;
    this.#clock = clock;
    this.#options = { ...dialogueDefaults, ...waits };
    this.#reads = reads;
    this.#sink = sink;
    this.#strays = new Strays(clock, this.#options.strayMs, () => this.#sink);
    end.onBytes((bytes) => this.#feed({ kind: "bytes", now: clock.now(), bytes }));
    end.onClose((why) => this.#ended(why));
  }

  /** True once the line is gone; a new dialogue needs a new end. */
  get closed(): boolean {
    return this.#over !== null;
  }

  /** Sets the one listener for the line going away; `null` when we closed it. Called at once if it is gone. */
  onClose(listener: (why: CranksideError | null) => void): void {
    this.#lostListener = listener;
    if (this.#over !== null) listener(causeOf(this.#over));
  }

  /** Sets the one listener for bytes outside any exchange; they are recorded either way. */
  onStray(listener: ((text: string) => void) | null): void {
    this.#strays.listen(listener);
  }

  /** From the next exchange on, events go here. */
  setSink(sink: EventSink | null): void {
    this.#strays.flush();
    this.#sink = sink;
  }

  /**
   * Something came that does not fit: the next command looks for the prompt first. `foreign`: an exchange that brought
   * nothing but the answer to another question, so that its own is still to come.
   */
  mistrust(foreign: Exchange | null = null): void {
    this.#outOfStep = true;
    if (foreign !== null) this.#judge.pace.misfit(foreign);
  }

  /** The line's own time from a command to its answer, milliseconds, where it is so long that it hinders; else null. */
  get slowMs(): number | null {
    return this.#judge.pace.slowMs;
  }

  /** More may come though the prompt is there: the next command waits for quiet first. */
  unsettle(): void {
    this.#unsettled = true;
  }

  /** Sets the one listener for every exchange that ended, the calls for the prompt included. */
  onExchange(listener: (exchange: Exchange) => void): void {
    this.#exchangeListener = listener;
  }

  /**
   * Sends a permitted command when those before it are through; resolves with what came back. When the adapter
   * does not come to a prompt, a request to the vehicle is not sent: what comes back then is the call for the prompt.
   */
  ask(command: string, waits: Partial<ExchangeLimits> = {}): Promise<Exchange> {
    return this.#queue(() => permit(command, this.#reads), waits);
  }

  /**
   * A read that the person defined, to one module alone: its header before, that to all modules behind, whatever comes.
   * Nothing else goes to the vehicle before the latter is in force. What comes back is the read's exchange, or the
   * refusal of the header.
   */
  askAlone(read: string, headers: HeaderPair, waits: Partial<ExchangeLimits> = {}): Promise<Exchange> {
    return this.#inLine(async () => {
      const command = permitAlone(read, this.#reads, headers);
      const ready = await this.#ready(command);
      if (ready !== null) return ready;
      const limits = { ...this.#options, ...waits };
      this.#headerDue = [...(headers.behind ?? []), headers.all];
      const asked = await askOne((ask) => this.#exchange(ask, limits), command, headers);
      if (asked.end !== null) await this.#headerBack();
      return asked;
    });
  }

  /** Clears codes: once for a consent, see `clearing.ts`. The exchange says whether it was sent, by its `ask`. */
  clear(consent: ClearConsent, waits: Partial<ExchangeLimits> = {}): Promise<Exchange> {
    return this.#queue(() => requestFor(consent), waits);
  }

  /** The line has a baud rate that can be changed while it is open. */
  get hasRate(): boolean {
    return this.#end.setBaud !== undefined;
  }

  /** Another rate for our side alone; the adapter is known, or suspected, to be at it. */
  async setBaud(baud: number): Promise<void> {
    await this.#end.setBaud?.(baud);
    this.#judge.rateChanged();
  }

  /** Asks the adapter for a faster line; see rate.ts. `says`: its name. */
  faster(from: number, to: FasterRate, says: string): Promise<RateOutcome> {
    return this.#inLine(() => changeRate(this.#rateTalk(), from, to, says));
  }

  /** Resets the adapter, which begins anew at this rate; resolves when it has, or when waiting for it is over. */
  async resetTo(baud: number): Promise<void> {
    await this.#inLine(() => resetAtOldRate(this.#rateTalk(), baud));
  }

  /** Looks for the prompt, with so much patience; nothing reaches the vehicle. */
  hail(waitMs: number): Promise<Exchange> {
    return this.#inLine(() => this.#call(waitMs));
  }

  #rateTalk(): RateTalk {
    let before: string | null = null;
    const exchange = (ask: string, waits: Partial<ExchangeLimits>): Promise<Exchange> => {
      const command = permitInRateChange(ask, before);
      before = command;
      return this.#exchange(command, { ...this.#options, ...waits });
    };
    return {
      exchange,
      change: (ask, waits, agreed) => {
        this.#agreed = agreed;
        return exchange(ask, waits);
      },
      setBaud: (baud) => this.setBaud(baud),
      pause: (ms) => this.#settle(ms),
    };
  }

  #queue(request: () => string, waits: Partial<ExchangeLimits>): Promise<Exchange> {
    return this.#inLine(() => this.#inTurn(request(), waits));
  }

  #inLine<Result>(work: () => Promise<Result>): Promise<Result> {
    const turn = this.#turn.then(work);
    // The next one has its turn whatever became of this one; the caller hears of a failure from `turn`.
    this.#turn = turn.then(
      () => undefined,
      () => undefined,
    );
    return turn;
  }

  /** Rejects what is pending with `link-closed`. */
  async close(): Promise<void> {
    this.#ended(null);
    await this.#end.close();
  }

  /** `ask` was permitted. */
  async #inTurn(ask: string, waits: Partial<ExchangeLimits>): Promise<Exchange> {
    return (await this.#ready(ask)) ?? this.#exchange(ask, { ...this.#options, ...waits });
  }

  /** null when `ask` may go out now; else what kept it back. */
  async #ready(ask: string): Promise<Exchange | null> {
    if (this.#outOfStep) {
      const called = await this.#call();
      // A busy adapter swallows the first character and takes the rest for a command: 0105 would become a request
      // 105 to the vehicle. So without a prompt nothing leaves but commands to the adapter: their rest means nothing.
      if ((called.end === null || isReset(called.err)) && !ask.startsWith("AT")) return called;
    } else if (this.#unsettled) {
      await this.#letPass();
      this.#outOfStep = false;
    }
    return ask.startsWith("AT") ? null : this.#headerBack();
  }

  /** All modules again; null when that is in force. An adapter that began anew has it by itself. */
  async #headerBack(): Promise<Exchange | null> {
    for (let [next] = this.#headerDue; next !== undefined; [next] = this.#headerDue) {
      const set = await this.#exchange(next, this.#options);
      if (isReset(set.err)) return set;
      if (!set.answer.some((line) => line.trim() === "OK" || line.trim() === "?")) return set;
      this.#headerDue = this.#headerDue.slice(1);
    }
    return null;
  }

  /** Looks for the prompt; see calling.ts. What comes back has an end only where the adapter is in step again. */
  async #call(waitMs = this.#options.wakeMs): Promise<Exchange> {
    const called = await callForPrompt(
      {
        exchange: (ask, waits) => this.#exchange(ask, { ...waits, characters: this.#options.characters }),
        letPass: () => this.#letPass(),
        now: () => this.#clock.now(),
        pace: this.#judge.pace,
      },
      waitMs,
    );
    if (called.end !== null) this.#outOfStep = false;
    return called;
  }

  /** Waits until nothing late is on its way any more: for the prompts that are owed, and then for quiet. False when
   * prompts stayed away: they were lost, or are later still. */
  async #letPass(): Promise<boolean> {
    this.#unsettled = false;
    const { settleMs } = this.#options;
    let since = this.#clock.now();
    for (let noisy = 0; noisy < mostSettling;) {
      const before = this.#strays.count;
      await this.#settle(settleMs);
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

  #settle(ms: number): Promise<void> {
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

  #exchange(ask: string, limits: ExchangeLimits): Promise<Exchange> {
    return new Promise((resolve, reject) => {
      if (this.#over !== null) {
        reject(this.#over);
        return;
      }
      this.#strays.flush();
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
          { found: messageOf(error), where: this.name },
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
    if (this.#judge.stray(text, prompts, now)) this.#outOfStep = true;
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
    if (odd) this.#outOfStep = true;
    record(judged, waiter.sink);
    if (isReset(judged.err)) this.#headerDue = [];
    this.#exchangeListener?.(judged);
    if (judged.err === "closed") waiter.reject(this.#over ?? closedError(this.name, null));
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
    this.#over = closedError(this.name, why);
    this.#feed({ kind: "closed", now: this.#clock.now() });
    this.#strays.flush();
    this.#settling?.cancel();
    this.#settling?.reject(this.#over);
    this.#settling = null;
    this.#lostListener?.(why);
  }
}
