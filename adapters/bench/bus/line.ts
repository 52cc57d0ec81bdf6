/** The vehicle's diagnostic bus as the adapter meets it: one request out, frames in, in their time. */
import type { Clock } from "../../../shared/clock.ts";
import { protocols, type ProtocolId } from "../../../shared/protocols.ts";
import type { Bench } from "../bench.ts";
import { hashed } from "../random.ts";
import { answer } from "../services/answer.ts";
import type { BenchModule } from "../vehicles.ts";
import { frameMs, replyFrames, requestFrame, type WireFrame } from "./frames.ts";

/** ISO 14230-2 / ISO 9141-2: reply end to next request; request inter-byte (from memory). */
const p3Ms = 55;
const p4Ms = 5;

export interface Sending {
  /** Nothing more is told after this. */
  stop(): void;
}

export interface Receiver {
  frame(frame: WireFrame): void;
  /** Nobody acknowledged the request: only CAN can tell. */
  unheard(): void;
}

/** An 11-bit identifier in full, or the last byte of an address. A body module hears only what is meant for it. */
function isTarget({ address, role }: BenchModule, target: number | null): boolean {
  if (target === null) return role !== "body";
  return address === target || (target < 256 && (address & 255) === target);
}

export class BusLine {
  readonly #bench: Bench;
  readonly #clock: Clock;
  /** The bus is busy, or must rest, until then. */
  #freeAt = Number.NEGATIVE_INFINITY;
  /** Session opened on a K-line by its start sequence; a module that lost power has forgotten it. */
  #openedEpoch: number | null = null;
  /** Bytes still missing of long answers, by identifier. */
  readonly #left = new Map<number, number>();

  constructor(bench: Bench, clock: Clock) {
    this.#bench = bench;
    this.#clock = clock;
  }

  get protocol(): ProtocolId {
    return this.#bench.vehicle.protocol;
  }

  awake(module: BenchModule): boolean {
    this.#bench.catchUp();
    return this.#bench.moduleAwake(module);
  }

  get anyoneAwake(): boolean {
    return this.#bench.vehicle.modules.some((m) => this.awake(m));
  }

  /** Milliseconds of a start attempt with this protocol, and whether it would work now. */
  start(protocol: ProtocolId): { ms: number; works: boolean } {
    const fits = protocol === this.protocol && this.anyoneAwake;
    const family = protocols[protocol].family;
    const slow = protocol === "iso9141" || protocol === "kwp-slow";
    if (slow) {
      // Idle, address at 5 bit/s; then W1 to W4 with five bytes, or W1 runs out.
      return { ms: 300 + 2000 + (fits ? 60 + 5 + 5 + 25 + 25 + 5 : 300), works: fits };
    }
    if (family === "kwp") return { ms: 300 + 50 + (fits ? 57 : 120), works: fits };
    return { ms: 0, works: fits };
  }

  get needsStart(): boolean {
    const family = protocols[this.protocol].family;
    return family === "iso9141" || family === "kwp";
  }

  opened(): void {
    this.#openedEpoch = this.#bench.powerEpoch;
    this.#freeAt = this.#clock.now() + p3Ms;
  }

  closed(): void {
    this.#openedEpoch = null;
  }

  get isOpen(): boolean {
    // The adapter keeps a session awake by itself; one that the module forgot it finds dead, and starts anew.
    return !this.needsStart || this.#openedEpoch === this.#bench.powerEpoch;
  }

  /** Milliseconds until a request sent now is on the bus whole: rest time still due, then the frame. */
  sendMs(request: readonly number[]): number {
    const wait = Math.max(0, this.#freeAt - this.#clock.now());
    return wait + frameMs(this.protocol, requestFrame(this.protocol, request), p4Ms);
  }

  /** Whether frames of the same long answer are still to come after this one. */
  moreFrames(frame: WireFrame): boolean {
    const id = frame.id ?? 0;
    const kind = (frame.data[0] ?? 0) >> 4;
    if (kind === 1) this.#left.set(id, (((frame.data[0] ?? 0) & 15) << 8) + (frame.data[1] ?? 0) - 6);
    else if (kind === 2) this.#left.set(id, (this.#left.get(id) ?? 0) - 7);
    return [...this.#left.values()].some((left) => left > 0);
  }

  /** Sends a request with the vehicle's own protocol; frames arrive over the clock. */
  send(request: readonly number[], target: number | null, to: Receiver): Sending {
    const { protocol } = this;
    const kLine = this.needsStart;
    this.#left.clear();
    let live = true;
    const cancels: (() => void)[] = [];
    const later = (at: number, act: () => void): void => {
      cancels.push(
        this.#clock.after(Math.max(0, at - this.#clock.now()), () => {
          if (live) act();
        }),
      );
    };
    const begin = Math.max(this.#clock.now(), this.#freeAt);
    const sent = begin + frameMs(protocol, requestFrame(protocol, request), p4Ms);
    this.#freeAt = sent;
    later(sent, () => {
      const awake = this.#bench.vehicle.modules.filter((m) => this.awake(m));
      if (awake.length === 0) {
        if (protocols[protocol].family === "can") to.unheard();
        return;
      }
      if (kLine && !this.isOpen) return;
      for (const module of awake.filter((m) => isTarget(m, target))) {
        const wait =
          module.answerMs +
          module.answerSpreadMs * hashed(this.#bench.seed ^ module.address, this.#bench.steps);
        later(sent + wait, () => {
          if (!this.awake(module)) return;
          const message = answer(this.#bench, module, request);
          this.#reply(message, { module, alone: target !== null }, to, later);
        });
      }
    });
    return {
      stop: () => {
        live = false;
        cancels.forEach((cancel) => cancel());
      },
    };
  }

  #reply(
    messages: readonly number[][],
    { module, alone }: { readonly module: BenchModule; readonly alone: boolean },
    to: Receiver,
    later: (at: number, act: () => void) => void,
  ): void {
    const { protocol } = this;
    const kLine = this.needsStart;
    let at = Math.max(this.#clock.now(), kLine ? 0 : this.#freeAt);
    messages.forEach((message, i) => {
      // Further messages of one module follow after its own thinking time again.
      if (i > 0) at += kLine ? module.answerMs : 1;
      for (const [n, frame] of replyFrames(protocol, module, message, alone).entries()) {
        // After a first frame the adapter's flow control takes its turn on the bus.
        if (n === 1) at += frameMs(protocol, frame, 0) + 0.4;
        at += frameMs(protocol, frame, 0.4);
        later(at, () => to.frame(frame));
      }
    });
    this.#freeAt = Math.max(this.#freeAt, at + (kLine && messages.length > 0 ? p3Ms : 0));
  }
}
