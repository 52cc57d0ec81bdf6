import type { Clock } from "../../shared/clock.ts";
import type { CranksideError } from "../../shared/errors.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { permit, permitAlone, permitInRateChange, type DefinedReads } from "./allowed.ts";
import { askOne } from "./alone.ts";
import type { HeaderPair } from "./headers.ts";
import { callForPrompt } from "./calling.ts";
import { requestFor, type ClearConsent } from "./clearing.ts";
import { Exchanger } from "./exchanger.ts";
import type { Exchange, ExchangeLimits } from "./machine.ts";
import { dialogueDefaults, type DialogueOptions } from "./options.ts";
import type { FasterRate } from "./fasterRates.ts";
import { changeRate, resetAtOldRate, type RateOutcome, type RateTalk } from "./rate.ts";
import { isReset } from "./words.ts";

/**
 * What may go out over a line, and when: one permitted command at a time, in turn, and only to an adapter that is in step
 * with us and speaks to all modules. An answer that did not come is an `Exchange` with `err`, not an error; only a line that
 * went away rejects (`link-closed`), and a command that is not permitted (`request-refused`).
 */
export class Dialogue {
  readonly name: string;
  readonly #clock: Clock;
  readonly #options: DialogueOptions;
  readonly #reads: DefinedReads;
  readonly #exchanger: Exchanger;
  /** What puts the adapter back to all modules, while it may still be set to one. */
  #headerDue: readonly string[] = [];
  #turn: Promise<unknown> = Promise.resolve();
  #outOfStep = false;
  #unsettled = false;

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
    this.#clock = clock;
    this.#options = { ...dialogueDefaults, ...waits };
    this.#reads = reads;
    this.#exchanger = new Exchanger(
      end,
      clock,
      { ...this.#options, sink },
      {
        odd: () => (this.#outOfStep = true),
        reset: () => (this.#headerDue = []),
      },
    );
  }

  /** True once the line is gone; a new dialogue needs a new end. */
  get closed(): boolean {
    return this.#exchanger.closed;
  }

  /** Sets the one listener for the line going away; `null` when we closed it. Called at once if it is gone. */
  onClose(listener: (why: CranksideError | null) => void): void {
    this.#exchanger.onClose(listener);
  }

  /** Sets the one listener for bytes outside any exchange; they are recorded either way. */
  onStray(listener: ((text: string) => void) | null): void {
    this.#exchanger.onStray(listener);
  }

  /** From the next exchange on, events go here. */
  setSink(sink: EventSink | null): void {
    this.#exchanger.setSink(sink);
  }

  /**
   * Something came that does not fit: the next command looks for the prompt first. `foreign`: an exchange that brought
   * nothing but the answer to another question, so that its own is still to come.
   */
  mistrust(foreign: Exchange | null = null): void {
    this.#outOfStep = true;
    if (foreign !== null) this.#exchanger.pace.misfit(foreign);
  }

  /** The line's own time from a command to its answer, milliseconds, where it is so long that it hinders; else null. */
  get slowMs(): number | null {
    return this.#exchanger.pace.slowMs;
  }

  /** More may come though the prompt is there: the next command waits for quiet first. */
  unsettle(): void {
    this.#unsettled = true;
  }

  /** Sets the one listener for every exchange that ended, the calls for the prompt included. */
  onExchange(listener: (exchange: Exchange) => void): void {
    this.#exchanger.onExchange(listener);
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
      const asked = await askOne((ask) => this.#exchanger.exchange(ask, limits), command, headers);
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
    return this.#exchanger.hasRate;
  }

  /** Another rate for our side alone; the adapter is known, or suspected, to be at it. */
  setBaud(baud: number): Promise<void> {
    return this.#exchanger.setBaud(baud);
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
    const exchange = (
      ask: string,
      waits: Partial<ExchangeLimits>,
      agreed?: () => void,
    ): Promise<Exchange> => {
      const command = permitInRateChange(ask, before);
      before = command;
      return this.#exchanger.exchange(command, { ...this.#options, ...waits }, agreed);
    };
    return {
      exchange,
      change: exchange,
      setBaud: (baud) => this.setBaud(baud),
      pause: (ms) => this.#exchanger.settle(ms),
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
  close(): Promise<void> {
    return this.#exchanger.close();
  }

  /** `ask` was permitted. */
  async #inTurn(ask: string, waits: Partial<ExchangeLimits>): Promise<Exchange> {
    return (await this.#ready(ask)) ?? this.#exchanger.exchange(ask, { ...this.#options, ...waits });
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

  /** False when prompts stayed away. */
  #letPass(): Promise<boolean> {
    this.#unsettled = false;
    return this.#exchanger.letPass();
  }

  /** All modules again; null when that is in force. An adapter that began anew has it by itself. */
  async #headerBack(): Promise<Exchange | null> {
    for (let [next] = this.#headerDue; next !== undefined; [next] = this.#headerDue) {
      const set = await this.#exchanger.exchange(next, this.#options);
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
        exchange: (ask, waits) =>
          this.#exchanger.exchange(ask, { ...waits, characters: this.#options.characters }),
        letPass: () => this.#letPass(),
        now: () => this.#clock.now(),
        pace: this.#exchanger.pace,
      },
      waitMs,
    );
    if (called.end !== null) this.#outOfStep = false;
    return called;
  }
}
