import { CranksideError, isCranksideError, messageOf } from "../../shared/errors.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { Survey } from "../../shared/survey.ts";
import { findProtocol, noVehicle, type ProtocolFound } from "../dialogue/index.ts";
import { sparedVoltsEveryMs } from "./battery.ts";
import { Asking } from "./asking.ts";
import type { ClearOutcome } from "./clearing.ts";
import { AdapterLine, slowWords } from "./line.ts";
import { sessionDefaults, type SessionOptions, type SessionStatus, type SessionWaits } from "./options.ts";
import { Poller } from "./poller.ts";
import { Rates } from "./rates.ts";
import { Recovery } from "./recovery.ts";
import { Rest } from "./rest.ts";
import { announced, askIdentifierSupport, askSupport, newerStandard } from "./support.ts";
import { Seeking } from "./seeking.ts";
import { SleepWatch, sleptWords } from "./sleepWatch.ts";
import { Standing } from "./standing.ts";

export type { SessionOptions, SessionStatus, SessionWaits } from "./options.ts";

/** One link to one vehicle: opens, sets up, polls, survives what happens to the line, and records all of it. */
export class Session {
  readonly #options: SessionOptions;
  readonly #waits: SessionWaits;
  readonly #poller: Poller;
  readonly #rest: Rest;
  readonly #line: AdapterLine;
  readonly #recovery: Recovery;
  readonly #sleepWatch: SleepWatch;
  readonly #rates: Rates;
  readonly #asking: Asking;
  readonly #seeking: Seeking;
  readonly #standing: Standing;
  #polling = false;
  #begun = false;
  #closing = false;
  /** The machine slept: whether the adapter is still there is to be seen. */
  #slept = false;
  #silentRun = 0;
  #lastWasVolts = false;
  #conducting: Promise<void> = Promise.resolve();

  constructor(options: SessionOptions) {
    this.#options = options;
    this.#waits = { ...sessionDefaults, ...options.waits };
    this.#poller = new Poller(options.defined, options.heard);
    this.#standing = new Standing(() => this.#heard());
    this.#rates = new Rates(options.clock, this.#waits.reportEveryMs, () => this.#poller.takeCounts());
    this.#seeking = new Seeking(this.#waits.seekEveryMs);
    this.#rest = new Rest(options.clock);
    this.#line = new AdapterLine(options, this.#rest);
    this.#asking = new Asking({
      ...{ line: this.#line, poller: this.#poller, rest: this.#rest, clock: options.clock },
      byItself: options.survey === true,
      ended: () => (this.#closing ? this.#closedError() : null),
      noVehicle: () => this.#standing.failure ?? noVehicle("", options.address),
    });
    this.#recovery = new Recovery({
      ...{ line: this.#line, rest: this.#rest, clock: options.clock, waits: this.#waits },
      protocol: () => this.#poller.vehicle?.protocol ?? null,
      closing: this.#isClosing,
    });
    this.#line.onDoing = (words) => {
      if (this.#standing.link === "connecting") this.#standing.become("connecting", words);
    };
    this.#line.onGone = (why) => {
      // While connecting, the one who waits is told by the rejection.
      if (this.#standing.link !== "connecting" && !this.#closing) this.#lose(why.message);
      this.#rest.nudge();
    };
    this.#sleepWatch = new SleepWatch(options.clock, (forMs, sinceMs) => this.#wakeUp(forMs, sinceMs));
    this.#poller.setChannels(options.channels ?? [], options.pinned);
  }

  /** Calls back with the status now and on each change; returns what ends that. */
  onStatus(listener: (status: SessionStatus) => void): () => void {
    return this.#standing.onStatus(listener);
  }

  get status(): SessionStatus {
    return this.#standing.status;
  }

  /**
   * Opens the line, sets the adapter up, finds the protocol and asks each module what it supports. A vehicle that
   * does not answer is a failure in the status, not an error here: the voltage can be read, and polling looks on.
   * Rejects with what opening or the adapter's set-up throws, or `link-closed`; then the session is closed.
   */
  async connect(): Promise<void> {
    if (this.#begun) throw new CranksideError("wrong-use", "a session connects once");
    this.#begun = true;
    try {
      if (this.#closing) throw this.#closedError();
      await this.#line.connect();
      this.#line.tellDefined();
      await this.#setUp();
      if (this.#line.wantsRaise) await this.#line.raise();
      if (this.#line.selfReset !== null) await this.#setUp();
      const refuses = new Set<string>();
      const found = await this.#line.follow(findProtocol(null, refuses));
      this.#line.noteRefusals(refuses);
      if (found.protocol === null) this.#standing.failure = noVehicle(found.said, this.#options.address);
      else await this.#adopt(found);
    } catch (error) {
      if (this.#closing) throw this.#closedError();
      await this.#fail(error);
      throw error;
    }
    this.#seeking.sought(this.#options.clock.now());
    this.#settle();
    this.#sleepWatch.start();
    this.#conducting = this.#conduct();
  }

  /** Begins polling into this sink; a new one is first told all that is known. Throws `link-closed` once closed. */
  start(sink: EventSink): void {
    if (this.#closing) throw this.#closedError();
    void this.#rest.act(() => {
      if (sink !== this.#line.sink) {
        this.#line.setSink(sink);
        this.#line.tellAll(this.#poller.vehicle, this.#standing.lostBecause);
        this.#asking.begin();
      }
      this.#polling = true;
      this.#rates.begin();
      if (this.#standing.link === "paused") this.#settle();
    });
  }

  /** Stops after the running exchange and keeps the link; nothing is recorded any more when it resolves. */
  async pause(): Promise<void> {
    if (this.#closing) return;
    await this.#rest.act(() => {
      this.#polling = false;
      this.#rates.begin();
      this.#line.setSink(null);
      if (this.#standing.link === "listening") this.#settle();
    });
  }

  /** From the next request on. Empty: the usual channels. */
  setChannels(channels: readonly string[], pinned: readonly string[] = []): void {
    this.#poller.setChannels(channels, pinned);
    this.#rest.nudge();
  }

  /** Cranking focus until one crank is over, with `strength` voltage and speed alone until told otherwise; or no longer. */
  arm(armed = true, strength = false): void {
    this.#poller.arm(armed, this.#options.clock.now(), strength);
    this.#standing.tell();
  }

  /** Asks every module once what it has to say; all of it is in the recording too. Rejects with `no-vehicle`. */
  survey(): Promise<Survey> {
    return this.#asking.survey();
  }

  /** Clears codes once, in the words that name what is lost; rejects with `clear-refused`. See clearing.ts. */
  clearCodes(typed: string): Promise<ClearOutcome> {
    return this.#asking.clearCodes(typed);
  }

  /** The survey at the end of a recording, where the session surveys by itself; until it is done, or for so long. */
  async lastSurvey(mostMs: number): Promise<void> {
    if (!this.#polling || this.#standing.link !== "listening" || !this.#asking.endDue) return;
    this.#standing.say("reading all modules once more");
    await this.#asking.endSurvey(mostMs);
    if (!this.#isClosing() && this.#standing.lostBecause === null) this.#settle();
  }

  /** Ends `lastSurvey` after the question that is on its way. */
  cutLastSurvey(): void {
    this.#asking.cutEnd();
  }

  /** Rejects what is pending with `link-closed`. */
  async close(): Promise<void> {
    if (!this.#closing) await this.#end(null);
    await this.#conducting;
  }

  async #conduct(): Promise<void> {
    while (!this.#closing) {
      try {
        await this.#turn();
      } catch (error) {
        // A line that went away is seen at the next turn; anything else is a fault that ends the session.
        if (!this.#isClosing() && !isCranksideError(error, "link-closed")) await this.#fail(error);
      }
    }
  }

  async #turn(): Promise<void> {
    this.#rest.runActs();
    if (!this.#line.open) return this.#regain();
    if (this.#slept) return this.#call();
    if (this.#line.doubted) return (await this.#recovery.find()) ? undefined : this.#call();
    if (this.#line.selfReset !== null) return this.#restore();
    if (this.#line.wantsRaise && this.#poller.focus !== "cranking") return this.#line.raise();
    const job = this.#asking.next();
    if (job !== undefined) return job();
    if (!this.#polling) return this.#rest.sleep(null);
    if (this.#poller.unheard && this.#seeking.due(this.#options.clock.now())) return this.#seek();
    const own = await this.#asking.askOwn();
    if (own === "newcomer") this.#standing.tell();
    return own === null ? this.#poll() : undefined;
  }

  async #poll(): Promise<void> {
    const { clock } = this.#options;
    const asking = this.#poller.next(clock.now());
    if (asking === null) return this.#rest.sleep(4 * this.#waits.voltsPaceMs);
    const isVolts = asking.request.kind === "volts";
    const paceMs = this.#poller.spares(clock.now()) ? sparedVoltsEveryMs : this.#waits.voltsPaceMs;
    if (isVolts && this.#lastWasVolts && !this.#poller.strength) await this.#rest.sleep(paceMs);
    this.#lastWasVolts = isVolts;
    const focus = this.#poller.focus;
    const { command, headers = null } = asking;
    const exchange = await (headers === null
      ? this.#line.ask(command)
      : this.#line.askAlone(command, headers));
    const learned = this.#poller.learn(asking, exchange, clock.now());
    if (learned.foreign) this.#line.mistrust(learned.answered ? null : exchange);
    if (learned.turned !== null) this.#asking.turned(learned.turned);
    if (learned.turned === "silent") {
      this.#vehicleTurned(`the vehicle does not answer: ${exchange.err ?? "nothing that fits came"}`);
    } else if (learned.turned === "answering") this.#vehicleTurned("the vehicle answers again");
    if (!this.#poller.counts) this.#line.noteRefusals(new Set(["reply count"]));
    if (this.#poller.focus !== focus) this.#standing.tell();
    if (this.#rates.due()) this.#standing.tell();
    this.#silentRun = exchange.end === null ? this.#silentRun + 1 : 0;
    if (this.#silentRun >= this.#waits.silentExchanges) await this.#call();
  }

  /** The vehicle, not the adapter, fell silent or came back. */
  #vehicleTurned(words: string): void {
    this.#line.notice(words);
    this.#standing.say(words);
  }

  /** The adapter lost its settings: the same again, without a search. */
  async #restore(): Promise<void> {
    const reset = this.#line.selfReset;
    if (reset === null) return;
    this.#line.emit(reset.state, { why: reset.why });
    this.#standing.say(`${reset.why}; setting it up again`);
    if (await this.#line.putBack(this.#poller.vehicle?.protocol ?? null)) this.#settle();
    else await this.#call();
  }

  /** The line is there and the adapter is silent: it is called on it for a while, then the line is opened anew. */
  async #call(): Promise<void> {
    this.#lose("the adapter does not answer");
    this.#slept = false;
    this.#silentRun = 0;
    if (await this.#recovery.call()) this.#regained();
    else await this.#line.close();
  }

  /** The line is gone: opened again and again, and set up as it was. */
  async #regain(): Promise<void> {
    this.#lose("the line went away");
    const failed = (why: CranksideError): void => {
      this.#standing.failure = why;
      this.#standing.tell();
    };
    if (await this.#recovery.reopen(() => this.#setUp(), failed)) this.#regained();
  }

  #wakeUp(forMs: number, sinceMs: number): void {
    if (this.#closing || this.#standing.lostBecause !== null) return;
    this.#lose(`the machine ${sleptWords(forMs)}`, sinceMs);
    this.#slept = true;
    this.#rest.nudge();
  }

  #lose(why: string, atMs = this.#options.clock.now()): void {
    if (this.#standing.lostBecause !== null) return;
    this.#standing.lostBecause = why;
    this.#asking.forget();
    this.#rates.begin();
    this.#line.emit("lost", { why }, atMs);
    this.#standing.become("lost", why);
  }

  #regained(): void {
    this.#standing.lostBecause = null;
    this.#standing.failure = null;
    this.#silentRun = 0;
    this.#asking.begin();
    this.#line.emit("back");
    this.#settle();
  }

  #settle(): void {
    if (!this.#polling) this.#standing.become("paused", "paused");
    else if (this.#poller.vehicle !== null) this.#standing.become("listening", this.#listeningWords());
    else
      this.#standing.become(
        "listening",
        "the vehicle does not answer; reading the supply voltage and asking again",
      );
  }

  #listeningWords(): string {
    const { slowMs } = this.#line;
    return slowMs === null ? "listening" : `listening; the line is slow: ${slowWords(slowMs)}`;
  }

  async #setUp(): Promise<void> {
    await this.#line.setUp();
    this.#poller.setVolts(this.#line.identity?.refuses?.includes("ATRV") !== true);
    this.#standing.tell();
  }

  /** A vehicle that answered for the first time. */
  async #adopt({ protocol, reply, byIdentifier }: ProtocolFound): Promise<void> {
    this.#line.emit("protocol", { protocol });
    const { unconfirmed = false } = this.#options;
    const newer = byIdentifier === true ? { byIdentifier: { unconfirmed } } : {};
    const modules = await this.#line.follow(
      byIdentifier === true ? askIdentifierSupport(protocol, unconfirmed) : askSupport(protocol, reply),
    );
    if (byIdentifier === true) this.#line.notice(newerStandard(unconfirmed));
    this.#poller.setVehicle({ protocol, modules, ...newer });
    this.#asking.begin();
    this.#standing.failure = null;
    this.#line.emit("modules", { modules: announced(modules) });
    this.#standing.tell();
  }

  async #seek(): Promise<void> {
    const found = await this.#line.follow(this.#seeking.plan());
    this.#seeking.sought(this.#options.clock.now());
    if (found === null) return;
    await this.#adopt(found);
    this.#settle();
  }

  /** What the status says beside how the link stands. */
  #heard(): Omit<SessionStatus, "link" | "doing" | "failure"> {
    const poller = this.#poller;
    const { vehicle, lowVolts: volts } = poller;
    return {
      adapter: this.#line.identity,
      protocol: vehicle?.protocol ?? null,
      modules: vehicle?.modules ?? new Map(),
      rates: this.#rates.last,
      focus: poller.focus,
      armed: poller.armed,
      strength: poller.strength,
      battery: volts === null ? null : { volts, spared: poller.spares(this.#options.clock.now()) },
    };
  }

  async #fail(error: unknown): Promise<void> {
    this.#standing.failure = isCranksideError(error)
      ? error
      : new CranksideError("link-failed", "the session broke off", { found: messageOf(error) }, error);
    await this.#end(this.#standing.failure.message);
  }

  /** `why` null: closed by us. */
  async #end(why: string | null): Promise<void> {
    this.#closing = true;
    this.#sleepWatch.stop();
    this.#rest.end(this.#closedError());
    await this.#line.close();
    this.#line.emit("closed", why === null ? {} : { why });
    this.#standing.become("closed", why ?? "closed");
    await this.#asking.settle();
  }

  /** For use behind an await, where it may have changed. */
  readonly #isClosing = (): boolean => this.#closing;

  #closedError(): CranksideError {
    return new CranksideError("link-closed", "the session is closed", { where: this.#options.address });
  }
}
