import type { CarrierMessage, CarrierOrder, CarriedWay } from "../../shared/carried.ts";
import { carriedFrame } from "../../shared/carried.ts";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { EndState } from "./endState.ts";

/** What carries orders and bytes to the page that has the device. */
export interface CarrierWire {
  order(order: CarrierOrder): void;
  bytes(frame: Uint8Array): void;
}

/** A person may have to walk back to the vehicle; the session asks again and again anyway. */
const openWithinMs = 15_000;

interface Opening {
  readonly n: number;
  readonly state: EndState;
  /** Writes that the device has not taken whole yet, oldest first. */
  readonly unsent: { left: number; readonly done: () => void }[];
  opened: ((end: ByteEnd) => void) | null;
  failed: ((why: CranksideError) => void) | null;
}

/**
 * The server's side of a device that a page holds. One opening at a time: a new one ends the one before it.
 * Whoever has the socket tells it what came.
 */
export class Carrier {
  readonly way: CarriedWay;
  readonly device: string;
  readonly #wire: CarrierWire;
  readonly #clock: Clock;
  #opening: Opening | null = null;
  #last = 0;
  #gone = false;

  constructor(of: { readonly way: CarriedWay; readonly device: string }, wire: CarrierWire, clock: Clock) {
    this.way = of.way;
    this.device = of.device;
    this.#wire = wire;
    this.#clock = clock;
  }

  /** Rejects with `link-failed` when the device cannot be opened, or the page goes before it is. */
  open(name: string, baud: number): Promise<ByteEnd> {
    if (this.#gone) return Promise.reject(pageGone(name));
    const before = this.#opening?.state;
    before?.shut(before.lost("it was opened anew"));
    this.#last = (this.#last + 1) % 256;
    const n = this.#last;
    return new Promise((resolve, reject) => {
      const cancel = this.#clock.after(openWithinMs, () =>
        this.#fail(n, `no answer of the device within ${openWithinMs / 1000} s`),
      );
      this.#opening = {
        n,
        state: new EndState(name),
        unsent: [],
        opened: (end) => {
          cancel();
          resolve(end);
        },
        failed: (why) => {
          cancel();
          reject(why);
        },
      };
      this.#wire.order({ type: "open", n, baud });
    });
  }

  heard(message: CarrierMessage): void {
    const opening = this.#opening;
    if (message.type === "here" || opening === null || opening.n !== message.n) return;
    switch (message.type) {
      case "opened":
        opening.opened?.(this.#end(opening));
        opening.opened = null;
        opening.failed = null;
        return;
      case "failed":
        return this.#fail(message.n, message.why);
      case "took":
        return took(opening, message.bytes);
      case "lost":
        return opening.state.shut(opening.state.lost(message.why, switchedOn));
    }
  }

  /** A binary frame from the page; of an earlier opening it is dropped. */
  bytes(frame: Uint8Array): void {
    const opening = this.#opening;
    if (opening !== null && frame[0] === opening.n) opening.state.deliver(frame.subarray(1));
  }

  /** The page or its socket is gone. */
  end(): void {
    this.#gone = true;
    const opening = this.#opening;
    if (opening === null) return;
    opening.failed?.(pageGone(opening.state.name));
    opening.state.shut(
      opening.state.lost("the page that carries it was closed or fell asleep", "Keep its tab open."),
    );
  }

  #fail(n: number, why: string): void {
    const opening = this.#opening;
    if (opening?.n !== n || opening.failed === null) return;
    this.#opening = null;
    this.#wire.order({ type: "close", n });
    opening.failed(
      new CranksideError("link-failed", "the browser cannot open the device", {
        found: why,
        where: `${opening.state.name} (${this.device})`,
        advice: switchedOn,
      }),
    );
  }

  #end(opening: Opening): ByteEnd {
    const { state, n } = opening;
    return {
      name: state.name,
      write: (bytes) =>
        state.write((done) => {
          opening.unsent.push({ left: bytes.length, done });
          this.#wire.bytes(carriedFrame(n, bytes));
        }),
      onBytes: (listener) => state.onBytes(listener),
      onClose: (listener) => state.onClose(listener),
      close: () => {
        if (!state.closed && !this.#gone) this.#wire.order({ type: "close", n });
        state.shut(null);
        return Promise.resolve();
      },
    };
  }
}

const switchedOn = "See that it is plugged in and near, and choose it again on the page.";

function pageGone(name: string): CranksideError {
  return new CranksideError("link-failed", "no page carries this adapter", {
    expected: "a page in this machine's browser in which the adapter was chosen",
    found: "none",
    where: name,
    advice: "Open the page in a Chromium browser on this machine and choose the adapter there.",
  });
}

function took({ unsent }: Opening, bytes: number): void {
  let left = bytes;
  for (let [first] = unsent; first !== undefined && left >= first.left; [first] = unsent) {
    left -= first.left;
    unsent.shift();
    first.done();
  }
  if (unsent[0] !== undefined) unsent[0].left -= left;
}

/** The devices that pages of this machine hold: one of each way, of the page that came first. */
export class Carriers {
  readonly #here = new Map<CarriedWay, Carrier>();

  /** False while another page holds one of this way. */
  add(carrier: Carrier): boolean {
    if (this.#here.has(carrier.way)) return false;
    this.#here.set(carrier.way, carrier);
    return true;
  }

  remove(carrier: Carrier): void {
    if (this.#here.get(carrier.way) === carrier) this.#here.delete(carrier.way);
    carrier.end();
  }

  /** Rejects with `link-failed` when no page has one. */
  open(way: CarriedWay, baud: number): Promise<ByteEnd> {
    const name = `browser:${way}`;
    return this.#here.get(way)?.open(name, baud) ?? Promise.reject(pageGone(name));
  }
}
