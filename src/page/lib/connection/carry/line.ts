import {
  carriedFrame,
  carrierOrderSchema,
  type CarrierMessage,
  type CarrierOrder,
} from "../../../../../shared/carried.ts";
import { messageOf } from "../../../../../shared/errors.ts";
import { readMessage } from "../../../../../shared/messages.ts";
import { piecesOf, type BrowserDevice } from "./device.ts";

/** What is heard goes on in frames of at most so many bytes; the server takes no larger ones. */
const mostBytes = 16 * 1024;

/** False when it could not be sent. */
export type Send = (data: string | Uint8Array<ArrayBuffer>) => boolean;

/** Carries one device's bytes to and from the server. Orders are done one after the other, as they come. */
export class CarriedLine {
  readonly #device: BrowserDevice;
  readonly #send: Send;
  readonly #tell: (doing: string) => void;
  /** The opening that is on, or null. */
  #n: number | null = null;
  #turn: Promise<void> = Promise.resolve();

  /** `tell` gets what the device is doing, in words. */
  constructor(device: BrowserDevice, send: Send, tell: (doing: string) => void) {
    this.#device = device;
    this.#send = send;
    this.#tell = tell;
  }

  /** The socket is open. */
  begin(): void {
    this.#say({ type: "here", way: this.#device.way, device: this.#device.name });
  }

  /** What is open ends at once, whatever is still being written. Throws `message-invalid`. */
  order(text: string): void {
    const order = readMessage(carrierOrderSchema, text);
    if (order.type === "close" && order.n !== this.#n) return;
    const closed = this.#drop();
    this.#next(() => closed);
    if (order.type === "close") return;
    this.#n = order.n;
    this.#next(() => this.#open(order));
  }

  bytes(frame: Uint8Array): void {
    const n = frame[0];
    const bytes = frame.slice(1);
    this.#next(async () => {
      if (n === undefined || n !== this.#n) return;
      try {
        await this.#device.write(bytes);
        if (this.#is(n)) this.#say({ type: "took", n, bytes: bytes.length });
      } catch (error) {
        this.#lost(n, messageOf(error));
      }
    });
  }

  /** The server is gone, or the person chose another device. Resolves when the device is let go. */
  end(): Promise<void> {
    const closed = this.#drop();
    this.#next(() => closed);
    return this.#turn;
  }

  async #drop(): Promise<void> {
    if (this.#n === null) return;
    this.#n = null;
    await this.#device.close();
    this.#tell("chosen, not in use");
  }

  #next(work: () => Promise<void>): void {
    this.#turn = this.#turn.then(work).catch((error: unknown) => this.#tell(messageOf(error)));
  }

  async #open({ n, baud }: Extract<CarrierOrder, { type: "open" }>): Promise<void> {
    if (n !== this.#n) return;
    this.#tell("opening");
    try {
      await this.#device.open(baud, {
        bytes: (bytes) => {
          for (const piece of piecesOf(bytes, mostBytes)) this.#send(carriedFrame(n, piece));
        },
        lost: (why) => this.#lost(n, why),
      });
    } catch (error) {
      if (n !== this.#n) return;
      this.#n = null;
      this.#tell(messageOf(error));
      this.#say({ type: "failed", n, why: shortened(messageOf(error)) });
      return;
    }
    if (!this.#is(n)) return this.#device.close();
    this.#tell("open");
    this.#say({ type: "opened", n });
  }

  /** Asked anew, as it may have changed while something was waited for. */
  #is(n: number): boolean {
    return this.#n === n;
  }

  #lost(n: number, why: string): void {
    if (n !== this.#n) return;
    this.#n = null;
    this.#tell(`lost: ${why}`);
    this.#say({ type: "lost", n, why: shortened(why) });
  }

  #say(message: CarrierMessage): void {
    this.#send(JSON.stringify(message));
  }
}

function shortened(text: string): string {
  return text.slice(0, 500);
}
