/** One request of the adapter to the vehicle: search or start of the bus, sending, waiting, printing. */
import type { Clock } from "../../../shared/clock.ts";
import { protocols, type ProtocolId } from "../../../shared/protocols.ts";
import type { BusLine, Sending } from "../bus/line.ts";
import type { WireFrame } from "../bus/frames.ts";
import { printed, type PrintSettings } from "./format.ts";

export interface ExchangeEnd {
  /** Protocol that worked, or null. */
  readonly protocol: ProtocolId | null;
  /** Lines still to be printed before the prompt. */
  readonly lines: readonly string[];
  /** Longest time to an answer, ms; null without one. */
  readonly answerMs: number | null;
  /** The supply fell too low meanwhile. */
  readonly dipped: boolean;
}

export interface ExchangeSettings {
  readonly bus: BusLine;
  readonly clock: Clock;
  readonly print: PrintSettings;
  /** Prints a whole line at once, or a part of one. */
  readonly line: (text: string) => void;
  readonly part: (text: string) => void;
  readonly dipped: () => boolean;
  /** Wait for further replies, and for a first one when the answer time is not known, ms. */
  readonly waitMs: number;
  readonly noReplyMs: number;
  /** The one module that is asked; null: all. */
  readonly target: number | null;
  /** False for a frame that the adapter does not hear, or that its flow control did not call for. */
  readonly hears: (frame: WireFrame) => boolean;
  readonly end: (end: ExchangeEnd) => void;
}

/** Time lost on a protocol that the vehicle does not speak, ms: no acknowledge, or silence waited out. */
const canErrorMs = 35;
const silenceMs = 120;

/** Request bytes, and how many replies to wait for (0: until time runs out). */
type Ask = readonly [bytes: readonly number[], count: number];

export class BusExchange {
  readonly #s: ExchangeSettings;
  #sending: Sending | null = null;
  #cancel: (() => void) | null = null;
  #over = false;
  #answerMs: number | null = null;

  constructor(settings: ExchangeSettings) {
    this.#s = settings;
  }

  stop(): void {
    this.#over = true;
    this.#cancel?.();
    this.#sending?.stop();
  }

  /** With a protocol that is settled. */
  run(protocol: ProtocolId, bytes: readonly number[], count: number): void {
    const { bus } = this.#s;
    const family = protocols[protocol].family;
    const kLine = family === "iso9141" || family === "kwp";
    if (kLine && !(protocol === bus.protocol && bus.isOpen)) {
      const attempt = bus.start(protocol);
      this.#s.part(protocol === "kwp-fast" ? "BUS INIT: " : "BUS INIT: ...");
      this.#later(attempt.ms, () => {
        if (!attempt.works || !bus.anyoneAwake) {
          this.#finish(protocol, ["ERROR"]);
          return;
        }
        bus.opened();
        this.#s.line("OK");
        this.#ask(protocol, [bytes, count], (lines) => this.#finish(protocol, lines));
      });
      return;
    }
    if (protocol !== bus.protocol) {
      const can = family === "can";
      const lines = [can ? "CAN ERROR" : "NO DATA"];
      this.#later(can ? canErrorMs : this.#s.noReplyMs, () => this.#finish(protocol, lines));
      return;
    }
    this.#ask(protocol, [bytes, count], (lines) => this.#finish(protocol, lines));
  }

  /** Through the protocols in this order until one is answered. */
  search(order: readonly ProtocolId[], bytes: readonly number[], count: number): void {
    this.#s.part("SEARCHING...");
    this.#try(order, 0, bytes, count);
  }

  #try(order: readonly ProtocolId[], at: number, bytes: readonly number[], count: number): void {
    const { bus } = this.#s;
    const protocol = order[at];
    if (protocol === undefined) {
      this.#s.line("");
      this.#finish(null, ["UNABLE TO CONNECT"]);
      return;
    }
    const next = (): void => this.#try(order, at + 1, bytes, count);
    const family = protocols[protocol].family;
    const attempt = bus.start(protocol);
    if (!attempt.works) {
      const ms = attempt.ms > 0 ? attempt.ms : family === "can" ? canErrorMs : silenceMs;
      this.#later(ms, next);
      return;
    }
    this.#later(attempt.ms, () => {
      bus.opened();
      let told = false;
      const ending = (lines: readonly string[]): void => {
        // A module that keeps silent to this request does not prove the protocol.
        if (this.#answerMs === null) {
          next();
          return;
        }
        this.#finish(protocol, lines);
      };
      this.#ask(protocol, [bytes, count], ending, () => {
        if (!told) this.#s.line("");
        told = true;
      });
    });
  }

  #ask(
    protocol: ProtocolId,
    [bytes, count]: Ask,
    ending: (lines: readonly string[]) => void,
    first?: () => void,
  ): void {
    const { bus, clock, print } = this.#s;
    let got = 0;
    let waitFrom = clock.now();
    const wait = (ms: number): void => {
      this.#cancel?.();
      this.#later(ms, () => {
        this.#sending?.stop();
        if (got > 0) {
          ending([]);
          return;
        }
        ending(["NO DATA"]);
      });
    };
    const sendMs = bus.sendMs(bytes);
    waitFrom += sendMs;
    this.#sending = bus.send(bytes, this.#s.target, {
      frame: (frame) => {
        if (this.#over || !this.#s.hears(frame)) return;
        if (this.#s.dipped()) {
          this.#finish(protocol, []);
          return;
        }
        first?.();
        for (const line of printed(frame, print)) this.#s.line(line);
        this.#answerMs = Math.max(this.#answerMs ?? 0, clock.now() - waitFrom);
        waitFrom = clock.now();
        // A long answer counts as one reply: its first frame starts it, the rest follow by themselves.
        if ((frame.data[0] ?? 0) >> 4 !== 2 || frame.id === undefined) got += 1;
        const more = frame.id !== undefined && bus.moreFrames(frame);
        if (count > 0 && got >= count && !more) {
          this.#cancel?.();
          this.#sending?.stop();
          ending([]);
          return;
        }
        wait(this.#s.waitMs);
      },
      unheard: () => {
        if (this.#over) return;
        this.#cancel?.();
        this.#later(canErrorMs, () => ending(["CAN ERROR"]));
      },
    });
    wait(sendMs + Math.max(this.#s.waitMs, this.#answerMs === null ? this.#s.waitMs : 0));
  }

  #later(ms: number, act: () => void): void {
    this.#cancel = this.#s.clock.after(ms, () => {
      if (!this.#over) act();
    });
  }

  #finish(protocol: ProtocolId | null, lines: readonly string[]): void {
    if (this.#over) return;
    this.stop();
    this.#s.end({ protocol, lines, answerMs: this.#answerMs, dipped: this.#s.dipped() });
  }
}
