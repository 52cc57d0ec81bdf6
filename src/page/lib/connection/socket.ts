import type { Clock } from "../../../../shared/clock.ts";

export interface SocketHandlers {
  opened(): void;
  text(text: string): void;
  bytes?(bytes: Uint8Array<ArrayBuffer>): void;
  /** Called each time the connection is gone, before the next try; with the code that the other side gave. */
  gone(code: number): void;
}

const firstWaitMs = 300;
const longestWaitMs = 4000;

/** A socket that comes back by itself, a little later after each failure. Knows nothing of what it carries. */
export class Socket {
  readonly #url: string;
  readonly #clock: Clock;
  readonly #handlers: SocketHandlers;
  #socket: WebSocket | null = null;
  #cancelRetry: (() => void) | null = null;
  #waitMs = firstWaitMs;
  #closed = false;

  constructor(url: string, clock: Clock, handlers: SocketHandlers) {
    this.#url = url;
    this.#clock = clock;
    this.#handlers = handlers;
    this.#open();
  }

  /** False when it could not be sent: nothing is kept for later. */
  send(data: string | Uint8Array<ArrayBuffer>): boolean {
    if (this.#socket?.readyState !== WebSocket.OPEN) return false;
    this.#socket.send(data);
    return true;
  }

  close(): void {
    this.#closed = true;
    this.#cancelRetry?.();
    this.#socket?.close();
  }

  #isClosed(): boolean {
    return this.#closed;
  }

  #open(): void {
    const socket = new WebSocket(this.#url);
    socket.binaryType = "arraybuffer";
    this.#socket = socket;
    socket.onopen = () => {
      this.#waitMs = firstWaitMs;
      this.#handlers.opened();
    };
    socket.onmessage = (event: MessageEvent<unknown>) => {
      if (typeof event.data === "string") this.#handlers.text(event.data);
      else if (event.data instanceof ArrayBuffer) this.#handlers.bytes?.(new Uint8Array(event.data));
    };
    // An error is always followed by a close, which is where it is handled.
    socket.onclose = ({ code }) => {
      if (this.#closed) return;
      this.#handlers.gone(code);
      // Whoever was told may have closed it for good.
      if (this.#isClosed()) return;
      this.#cancelRetry = this.#clock.after(this.#waitMs, () => this.#open());
      this.#waitMs = Math.min(this.#waitMs * 2, longestWaitMs);
    };
  }
}
