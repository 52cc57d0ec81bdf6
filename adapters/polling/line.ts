import { pause } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { AdapterIdentity, LinkEvent, LinkState } from "../../shared/recording/format.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import {
  choose,
  Dialogue,
  findBaud,
  follow,
  isReset,
  lateAnswer,
  mayNameItself,
  nameOn,
  prepareAdapter,
  restoreSettings,
  type ClearConsent,
  type Exchange,
  type ExchangeLimits,
  type HeaderPair,
  type Plan,
} from "../dialogue/index.ts";
import { BusStart } from "./busStart.ts";
import { fastWaits, LineRate } from "./lineRate.ts";
import type { SessionOptions } from "./options.ts";
import type { Vehicle } from "./poller.ts";
import type { Rest } from "./rest.ts";
import { announced } from "./support.ts";

/** A reset of the adapter by itself, as it goes into the recording. */
export interface SelfReset {
  readonly state: Extract<LinkState, "reset" | "low-voltage">;
  readonly why: string;
}

/** For the word that leaves the adapter at its own rate, milliseconds. */
const leaveMs = 200;

/** Times that settings are sent again before the adapter counts as silent: a dip seldom comes alone. */
const putBackTries = 4;

/** The adapter on its line, opened as often as need be; and the sink that everything about it goes into. */
export class AdapterLine {
  readonly #options: SessionOptions;
  readonly #rest: Rest;
  #sink: EventSink | null;
  #dialogue: Dialogue | null = null;
  #identity: AdapterIdentity | null = null;
  readonly #rate: LineRate;
  readonly #busStart = new BusStart();
  #selfReset: SelfReset | null = null;
  /** What it said of itself on restarting, where that is not its name. */
  #greeting: string | null = null;
  #toldSlow = false;
  /** Told what is being done, in words. */
  onDoing: (words: string) => void = () => undefined;
  /** Told when the line goes away by itself. */
  onGone: (why: CranksideError) => void = () => undefined;

  constructor(options: SessionOptions, rest: Rest) {
    this.#options = options;
    this.#rest = rest;
    this.#sink = options.sink;
    this.#rate = new LineRate(options.clock, options.rates ?? null, options.baud);
  }

  get identity(): AdapterIdentity | null {
    return this.#identity;
  }

  get sink(): EventSink | null {
    return this.#sink;
  }

  get open(): boolean {
    return this.#dialogue !== null && !this.#dialogue.closed;
  }

  /** The line takes so long, milliseconds, that it hinders; else null. */
  get slowMs(): number | null {
    return this.#dialogue?.slowMs ?? null;
  }

  /** The adapter began anew and its settings were not put back yet. */
  get selfReset(): SelfReset | null {
    return this.#selfReset;
  }

  setSink(sink: EventSink | null): void {
    this.#sink = sink;
    this.#dialogue?.setSink(sink);
  }

  /** `atMs` is the clock's time of it, where that was not just now. */
  emit(
    state: LinkState,
    more: Omit<LinkEvent, "k" | "t" | "state"> = {},
    atMs = this.#options.clock.now(),
  ): void {
    const sink = this.#sink;
    sink?.append({ k: "link", t: Math.max(0, atMs - sink.zeroMs), state, ...more });
  }

  /** A recording that begins now stands alone: all that is known of adapter and vehicle. */
  tellAll(vehicle: Vehicle | null, lostBecause: string | null): void {
    this.tellDefined();
    if (this.#identity !== null) this.emit("identified", { adapter: this.#identity });
    if (vehicle !== null) {
      this.emit("protocol", { protocol: vehicle.protocol });
      this.emit("modules", { modules: announced(vehicle.modules) });
    }
    if (lostBecause !== null) this.emit("lost", { why: lostBecause });
  }

  notice(text: string): void {
    const sink = this.#sink;
    sink?.append({ k: "notice", t: Math.max(0, this.#options.clock.now() - sink.zeroMs), text });
  }

  /** What the reads that the person defined mean, for whoever opens the recording. */
  tellDefined(): void {
    const { defined: parameters = [] } = this.#options;
    const sink = this.#sink;
    if (parameters.length === 0 || sink === null) return;
    sink.append({ k: "defined", t: Math.max(0, this.#options.clock.now() - sink.zeroMs), parameters });
  }

  /** Opens the line, finding the baud rate the first time if need be. */
  async connect(): Promise<void> {
    const { clock, address, findBaud: mayFind, defined = [], dialogue: waits = {} } = this.#options;
    this.onDoing(`opening ${address}`);
    const shared = { sink: this.#sink, reads: new Set(defined.map(({ request }) => request)) };
    if (this.#rate.own === undefined && mayFind === true) {
      const found = await findBaud({
        ...shared,
        open: (baud) => this.#openEnd(baud),
        clock,
        options: waits,
        onDoing: (words) => this.onDoing(words),
        onDialogue: (dialogue) => this.#keep(dialogue),
      });
      this.#rate.own = found.baud;
      this.#rate.opened();
    } else {
      const dialogue = new Dialogue(await this.#openEnd(this.#rate.own), clock, { ...waits, ...shared });
      this.#keep(dialogue);
      this.#rate.opened();
      await this.#rate.locate(dialogue);
    }
    this.#selfReset = null;
    this.emit("opened");
  }

  /** Resets the adapter and learns who it is; one that was set up before is started warm. */
  async setUp(): Promise<void> {
    const known = this.#identity;
    const { identity, greeting } = await this.follow(prepareAdapter(this.#options.address, known));
    if (greeting !== undefined && known === null) this.notice(twoNames(identity.says, greeting));
    this.#greeting = greeting ?? null;
    this.#identity = this.#withBaud(identity);
    this.#selfReset = null;
    if (known?.says !== identity.says || known.baud !== this.#identity.baud) this.#tellIdentity();
  }

  #withBaud(identity: AdapterIdentity): AdapterIdentity {
    const baud = this.#rate.now;
    return { ...identity, ...(baud === undefined ? {} : { baud }) };
  }

  #tellIdentity(): void {
    if (this.#identity === null) return;
    this.#identity = this.#withBaud(this.#identity);
    this.emit("identified", { adapter: this.#identity });
  }

  /** The line could be faster, and the adapter was not asked yet. */
  get wantsRaise(): boolean {
    const { says = "", refuses = [] } = this.#identity ?? {};
    return says !== "" && !refuses.includes("ATI") && this.#rate.wantsRaise(this.#dialogue);
  }

  /** Asks the adapter for the fastest line that proves reliable; what it was stays when none does. */
  async raise(): Promise<void> {
    const [dialogue, says] = [this.#dialogue, this.#identity?.says];
    if (dialogue === null || says === undefined) return;
    this.onDoing("asking the adapter for a faster line");
    const { failed, astray } = await this.#rate.raise(dialogue, says);
    // What the change itself brought is no doubt of the line.
    this.#selfReset = astray
      ? { state: "reset", why: "the adapter was reset: at a faster line it could not be understood" }
      : null;
    if (failed.length > 0) this.noteRefusals(new Set(failed));
    if (this.#rate.isFast) this.#tellIdentity();
  }

  /** Something at the faster rate was not as it should be. */
  get doubted(): boolean {
    return this.#rate.doubted;
  }

  /** True when the adapter answers; where the line has two rates they take turns. */
  async hail(): Promise<boolean> {
    const dialogue = this.#dialogue;
    if (dialogue === null) throw this.#noLine();
    const before = this.#rate.now;
    const found = await this.#rate.hail(dialogue);
    if (found === "own") {
      this.#selfReset ??= { state: "reset", why: "the adapter restarted by itself" };
      this.#tellIdentity();
    } else if (found === "worn") {
      await this.#rate.drop(dialogue);
      this.noteRefusals(new Set([`${before ?? 0} baud`]));
      this.#selfReset = {
        state: "reset",
        why: `the adapter was reset: bytes were lost at ${before ?? 0} baud`,
      };
      this.#tellIdentity();
    }
    return found !== "silent";
  }

  /** After this failure the adapter's rate is looked for anew. */
  forgetBaud(error: CranksideError): void {
    const unheard = error.code === "adapter-silent" || error.code === "adapter-garbled";
    if (unheard && this.#options.findBaud === true) this.#rate.own = undefined;
  }

  /** What was refused later than in the set-up. */
  noteRefusals(refuses: ReadonlySet<string>): void {
    const identity = this.#identity;
    if (identity === null || [...refuses].every((command) => identity.refuses?.includes(command))) return;
    this.#identity = { ...identity, refuses: [...new Set([...(identity.refuses ?? []), ...refuses])] };
    this.emit("identified", { adapter: this.#identity });
  }

  async chooseProtocol(protocol: ProtocolId): Promise<void> {
    await this.follow(choose(protocol));
  }

  /** Settings and protocol again, on the same line and without a search; false when the adapter does not take them. */
  async putBack(protocol: ProtocolId | null): Promise<boolean> {
    for (let tries = 0; tries < putBackTries; tries++) {
      this.#dialogue?.unsettle();
      if (await this.follow(restoreSettings(this.#identity ?? { says: "" }, protocol))) {
        this.#selfReset = null;
        return true;
      }
    }
    return false;
  }

  /** One command. Rejects with `link-closed` when there is no line. */
  ask(command: string, waits?: Partial<ExchangeLimits>): Promise<Exchange> {
    const limits = { ...this.#waitsFor(command), ...waits };
    return this.#dialogue?.ask(command, limits) ?? Promise.reject(this.#noLine());
  }

  /** A read that the person defined, to one module alone. */
  askAlone(command: string, headers: HeaderPair): Promise<Exchange> {
    const limits = this.#waitsFor(command);
    return this.#dialogue?.askAlone(command, headers, limits) ?? Promise.reject(this.#noLine());
  }

  #waitsFor(command: string): Partial<ExchangeLimits> {
    const start = command.startsWith("AT") ? {} : this.#busStart.waits;
    return this.#rate.isFast ? { ...fastWaits, ...start } : start;
  }

  /** Clears codes, once; see adapters/dialogue/clearing.ts. */
  clear(consent: ClearConsent, waits?: Partial<ExchangeLimits>): Promise<Exchange> {
    return this.#dialogue?.clear(consent, waits) ?? Promise.reject(this.#noLine());
  }

  /** Walks a plan; whoever waits for a moment between two exchanges gets it. */
  async follow<Result>(plan: Plan<Result>): Promise<Result> {
    const ask = async (command: string, waits?: Partial<ExchangeLimits>) => {
      const exchange = await this.ask(command, waits);
      this.#rest.runActs();
      return exchange;
    };
    return follow(plan, { ask }, (words) => this.onDoing(words));
  }

  /** Something came that does not fit the request; `foreign`: nothing else came with this exchange. */
  mistrust(foreign: Exchange | null): void {
    this.#dialogue?.mistrust(foreign);
  }

  async close(): Promise<void> {
    const dialogue = this.#dialogue;
    this.#dialogue = null;
    if (dialogue !== null && !dialogue.closed && this.#rate.isFast) await this.#leave(dialogue);
    await dialogue?.close();
  }

  /** The adapter is left at its own rate: the next program expects it there. */
  async #leave(dialogue: Dialogue): Promise<void> {
    const waits = { silenceMs: leaveMs / 4, wholeMs: leaveMs };
    const asked = dialogue.ask("ATZ", waits).catch(() => undefined);
    await Promise.race([asked, pause(this.#options.clock, leaveMs)]);
  }

  #openEnd(baud: number | undefined) {
    return this.#rest.orEnd(this.#options.open(baud), (late) => {
      // Nobody waits for it any more, nor for what becomes of it.
      late.close().catch(() => undefined);
    });
  }

  #keep(dialogue: Dialogue): void {
    this.#dialogue = dialogue;
    dialogue.onExchange((exchange) => {
      this.#noticeReset(exchange);
      this.#rate.judge(exchange);
      this.#busStart.see(exchange);
      this.#tellSlow();
    });
    dialogue.onStray((text) => this.#rate.judgeStray(text));
    dialogue.onClose((why) => {
      if (why !== null && this.#dialogue === dialogue) this.onGone(why);
    });
  }

  /** Once: what is late on such a line is no fault of adapter or vehicle. */
  #tellSlow(): void {
    const { slowMs } = this;
    if (slowMs === null || this.#toldSlow) return;
    this.#toldSlow = true;
    this.notice(`the line is slow: ${slowWords(slowMs)}; waits are longer, readings fewer`);
  }

  #noticeReset(exchange: Exchange): void {
    const names = [this.#identity?.says, this.#greeting].filter((name) => name !== "");
    const named =
      !mayNameItself(exchange.ask) &&
      exchange.answer.some((line) => names.includes(nameOn(line) ?? line.trim()));
    if (!isReset(exchange.err) && (!named || exchange.err === lateAnswer)) return;
    this.#selfReset =
      exchange.err === "LV RESET"
        ? { state: "low-voltage", why: "the adapter's supply fell too low (LV RESET)" }
        : { state: "reset", why: resetWords(exchange.err) };
  }

  #noLine(): CranksideError {
    return new CranksideError("link-closed", "there is no line", { where: this.#options.address });
  }
}

function resetWords(err: string | undefined): string {
  if (err === "ERR94") return "the adapter reported ERR94; its settings may be lost";
  return "the adapter restarted by itself";
}

/** For the person: nothing is wrong with the vehicle, but such an adapter mostly claims more than it can do. */
function twoNames(says: string, greeting: string): string {
  return `the adapter gives two names: "${says}" when asked, "${greeting}" on restarting`;
}

/** For the person: what a slow line costs. */
export function slowWords(ms: number): string {
  return `${(ms / 1000).toFixed(1)} s from a question to its answer`;
}
