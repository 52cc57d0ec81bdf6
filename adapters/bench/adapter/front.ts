/** The ELM-compatible dialogue in front of the bench vehicle: characters in, characters out, in their time. */
import type { Clock } from "../../../shared/clock.ts";
import { protocols, type ProtocolId } from "../../../shared/protocols.ts";
import type { ByteEnd } from "../../../shared/wire.ts";
import type { Bench } from "../bench.ts";
import type { WireFrame } from "../bus/frames.ts";
import { BusLine } from "../bus/line.ts";
import { BusExchange, type ExchangeEnd } from "./exchange.ts";
import { RateChange, type RateManners } from "./rateChange.ts";
import { command, defaults, identity, rateDivisor, type Settings } from "./settings.ts";

export interface AdapterOptions {
  /** Serial speed between adapter and laptop; 10 bits a character. */
  readonly baud?: number;
  /** Print the padding of CAN frames, as some adapters do. */
  readonly showPadding?: boolean;
  /** What it makes of the command for another serial rate; honest when not said. */
  readonly rates?: RateManners;
}

export interface AttachedAdapter {
  /** Lets go of the line without closing it. */
  detach(): void;
}

/** Puts the adapter on an end of a byte line; it answers until the end closes. */
export function attachAdapter(
  bench: Bench,
  end: ByteEnd,
  clock: Clock,
  options: AdapterOptions = {},
): AttachedAdapter {
  const front = new Front(bench, end, clock, options);
  end.onBytes((bytes) => front.heard(bytes));
  end.onClose(() => front.detach());
  return { detach: () => front.detach() };
}

const searchOrder: readonly ProtocolId[] = [
  ...(["can11-500", "can29-500", "can11-250", "can29-250"] as const),
  ...(["vpw", "pwm", "iso9141", "kwp-slow", "kwp-fast"] as const),
];

const resetMs = 850;
const warmStartMs = 60;
const settingMs = 1.5;
const longestCommand = 40;

class Front {
  readonly #bench: Bench;
  readonly #end: ByteEnd;
  readonly #clock: Clock;
  readonly #bus: BusLine;
  readonly #rate: RateChange;
  readonly #showPadding: boolean;
  #settings: Settings = defaults();
  #typed = "";
  #last = "";
  #listening = true;
  /** What a character that comes early interrupts; null when the prompt is out. */
  #busy: { readonly stop: (() => void) | null } | null = null;
  #early: number[] = [];
  #receivedAt = 0;
  #sentAt = 0;
  /** On its way, and may be joined by what follows at once. */
  #queued: { readonly bytes: Buffer; readonly cancel: () => void } | null = null;
  /** Waits for the carriage return that confirms another serial rate; hears nothing else meanwhile. */
  #confirm: ((byte: number) => void) | null = null;
  #dips: number;
  /** Longest answer time lately, ms: what adaptive timing goes by. */
  #learnedMs = 120;

  constructor(bench: Bench, end: ByteEnd, clock: Clock, options: AdapterOptions) {
    this.#bench = bench;
    this.#end = end;
    this.#clock = clock;
    this.#bus = new BusLine(bench, clock);
    this.#rate = new RateChange(end, options.baud ?? 38_400, options.rates ?? "honest");
    this.#showPadding = options.showPadding ?? false;
    this.#dips = bench.supplyDips;
  }

  detach(): void {
    this.#listening = false;
    this.#busy?.stop?.();
    this.#busy = null;
  }

  /** Characters take their time on the serial line before the adapter has them. */
  heard(bytes: Uint8Array): void {
    if (!this.#listening) return;
    const from = Math.max(this.#clock.now(), this.#receivedAt);
    this.#receivedAt = from + bytes.length * this.#rate.charMs;
    this.#after(this.#receivedAt - this.#clock.now(), () => this.#take(bytes));
  }

  #after(ms: number, act: () => void): () => void {
    return this.#clock.after(ms, () => {
      if (this.#listening) act();
    });
  }

  #take(bytes: Iterable<number>): void {
    for (const byte of bytes) {
      if (this.#confirm !== null) this.#confirm(byte);
      else if (this.#busy === null) this.#character(byte);
      else if (this.#busy.stop === null) this.#early.push(byte);
      else {
        // A character that comes before the prompt ends what was going on, and is lost.
        this.#busy.stop();
        this.#finish(["STOPPED"]);
      }
    }
  }

  #character(byte: number): void {
    if (byte === 0 || byte === 10) return;
    const c = String.fromCharCode(byte);
    if (c !== "\r") {
      if (this.#settings.echo) this.#sendApart(c);
      if (c !== " " && this.#typed.length <= longestCommand) this.#typed += c.toUpperCase();
      return;
    }
    if (this.#settings.echo) this.#sendApart(this.#eol());
    const text = this.#typed === "" ? this.#last : this.#typed;
    this.#typed = "";
    this.#last = text;
    if (this.#supplyDipped()) return;
    this.#execute(text);
  }

  #execute(text: string): void {
    if (text === "" || text.length > longestCommand) {
      this.#settle(settingMs, ["?"]);
    } else if (text.startsWith("AT")) {
      this.#at(text.slice(2));
    } else if (/^(?:[0-9A-F]{2}){1,7}[0-9A-F]?$/.test(text)) {
      const odd = text.length % 2 === 1;
      const digits = odd ? text.slice(0, -1) : text;
      const bytes = (digits.match(/../g) ?? []).map((two) => Number.parseInt(two, 16));
      this.#request(bytes, odd ? Number.parseInt(text.slice(-1), 16) : 0);
    } else {
      this.#settle(settingMs, ["?"]);
    }
  }

  #at(text: string): void {
    const outcome = command(text, this.#settings, () => ({
      volts: this.#bench.socketVolts(),
      ignition: this.#bench.state().key !== "off",
    }));
    if (outcome.effect === "none") {
      this.#settle(settingMs, [outcome.text]);
      return;
    }
    if (outcome.effect === "rate") {
      this.#changeRate(rateDivisor(text) ?? 0);
      return;
    }
    this.#bus.closed();
    if (outcome.effect === "close") {
      this.#settle(settingMs, [outcome.text]);
      return;
    }
    this.#settings = defaults();
    this.#learnedMs = 120;
    // A warm start keeps the serial rate (from memory).
    if (outcome.effect === "reset") this.#rate.toOwn();
    this.#settle(outcome.effect === "reset" ? resetMs : warmStartMs, ["", "", outcome.text]);
  }

  /** OK at the old rate, the name at the new one; a carriage return in time confirms it, else the old one is back. */
  #changeRate(divisor: number): void {
    if (this.#rate.manners === "refuses") {
      this.#settle(settingMs, ["?"]);
      return;
    }
    this.#busy = { stop: null };
    const { rateWaitMs } = this.#settings;
    this.#after(settingMs, () => {
      this.#send(`OK${this.#eol()}`, () => {
        this.#rate.to(4_000_000 / divisor);
        this.#sendLine(identity);
        const cancel = this.#after(rateWaitMs, () => {
          this.#confirm = null;
          this.#rate.back();
          this.#finish([]);
        });
        this.#confirm = (byte) => {
          if (byte !== 13) return;
          this.#confirm = null;
          cancel();
          this.#finish(["OK"]);
        };
      });
    });
  }

  /** Nothing can be asked meanwhile; then these lines and the prompt. */
  #settle(ms: number, lines: readonly string[]): void {
    this.#busy = { stop: null };
    this.#after(ms, () => this.#finish(lines));
  }

  /** The adapter's own supply fell below what it works with: it starts anew and has forgotten its settings. */
  #supplyDipped(): boolean {
    this.#bench.catchUp();
    if (this.#bench.supplyDips === this.#dips) return false;
    this.#dips = this.#bench.supplyDips;
    this.#settings = defaults();
    this.#rate.toOwn();
    this.#bus.closed();
    this.#busy?.stop?.();
    this.#settle(resetMs, ["", "", "LV RESET"]);
    return true;
  }

  #request(bytes: readonly number[], count: number): void {
    const s = this.#settings;
    const exchange = new BusExchange({
      bus: this.#bus,
      clock: this.#clock,
      print: { headers: s.headers, spaces: s.spaces, showPadding: this.#showPadding },
      line: (text) => this.#sendLine(text),
      part: (text) => this.#send(text),
      dipped: () => this.#bench.supplyDips !== this.#dips,
      waitMs: this.#waitMs(),
      noReplyMs: s.waitMs,
      target: s.target,
      hears: (frame) => hears(frame, s),
      end: (end) => this.#exchanged(end),
    });
    this.#busy = { stop: () => exchange.stop() };
    const known = s.protocol;
    if (known !== null && this.#searched(known)) exchange.run(known, bytes, count);
    else
      exchange.search(
        known === null ? searchOrder : [known, ...searchOrder.filter((p) => p !== known)],
        bytes,
        count,
      );
  }

  /** A protocol that is fixed, or that a search has found already, is used without a search. */
  #searched(protocol: ProtocolId): boolean {
    return !this.#settings.auto || this.#found === protocol;
  }

  #found: ProtocolId | null = null;

  #exchanged(end: ExchangeEnd): void {
    if (end.dipped && this.#supplyDipped()) return;
    if (this.#settings.auto) {
      this.#found = end.protocol;
      this.#settings.protocol = end.protocol;
    }
    const longest = end.answerMs;
    if (longest !== null) this.#learnedMs = Math.max(longest, this.#learnedMs * 0.9);
    else if (end.lines.includes("NO DATA")) this.#learnedMs = Math.min(200, this.#learnedMs * 1.5 + 5);
    this.#finish(end.lines);
  }

  #waitMs(): number {
    const s = this.#settings;
    if (s.adaptive === 0) return s.waitMs;
    const slack = s.adaptive === 1 ? 1.6 : 1.25;
    const least = protocols[this.#bench.vehicle.protocol].family === "can" ? 16 : 30;
    return Math.min(s.waitMs, Math.max(least, this.#learnedMs * slack + 6));
  }

  #finish(lines: readonly string[]): void {
    this.#busy = { stop: null };
    for (const line of lines) this.#sendLine(line);
    this.#send(`${this.#eol()}>`, () => {
      this.#busy = null;
      const early = this.#early;
      this.#early = [];
      if (early.length > 0) this.#take(early);
    });
  }

  #eol(): string {
    return this.#settings.linefeeds ? "\r\n" : "\r";
  }

  /** What is no answer is by itself, so that the first character of the answer is heard in its own time. */
  #sendApart(text: string): void {
    this.#send(text, () => undefined);
  }

  #sendLine(text: string): void {
    if (text === "") this.#sendApart(this.#eol());
    else this.#send(text + this.#eol());
  }

  /**
   * Queues characters on the serial line: the first is heard when it is through, those behind it when the line is
   * quiet again, or when `then` is to be done.
   */
  #send(text: string, then?: () => void): void {
    const now = this.#clock.now();
    const from = Math.max(now, this.#sentAt);
    this.#sentAt = from + text.length * this.#rate.charMs;
    let bytes = Buffer.from(this.#rate.said(text), "latin1");
    if (this.#queued !== null) {
      this.#queued.cancel();
      bytes = Buffer.concat([this.#queued.bytes, bytes]);
    } else if (bytes.length > 1) {
      const first = bytes.subarray(0, 1);
      this.#after(from + this.#rate.charMs - now, () => this.#write(first));
      bytes = bytes.subarray(1);
    }
    const cancel = this.#after(this.#sentAt - now, () => {
      this.#queued = null;
      this.#write(bytes);
      then?.();
    });
    this.#queued = then === undefined ? { bytes, cancel } : null;
  }

  #write(bytes: Uint8Array): void {
    // A line that closes under the adapter's hands is told through onClose.
    this.#end.write(bytes).then(undefined, () => this.detach());
  }
}

/** Of 11 bits 7E8 to 7EF, or the one that was set; what follows a first frame comes only where flow control went. */
function hears({ id, idBits, data }: WireFrame, s: Settings): boolean {
  if (id === undefined || idBits === 29) return true;
  const usual = id >= 0x7e8 && id <= 0x7ef;
  if (s.receive === null ? !usual : id !== s.receive) return false;
  const follows = (data[0] ?? 0) >> 4 === 2;
  return !follows || (s.flowByHand ? s.flowUnder === id - 8 : usual);
}

export { identity };
