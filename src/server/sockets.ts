/** The WebSocket side: each page gets the state and the live lines, and its requests are answered one by one. */
import type { Server } from "node:http";
import { WebSocketServer, type WebSocket } from "ws";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import { readMessage, requestSchema, type ServerMessage } from "../../shared/messages.ts";
import type { CarrySockets } from "./carry.ts";
import type { Desk } from "./desk.ts";
import { isOwnOrigin, type Door } from "./doors.ts";
import { failureOf } from "./failure.ts";
import * as limits from "./limits.ts";
import { pathOf } from "./paths.ts";
import type { Visitor } from "./visitors.ts";

/** The sockets of all doors. */
export class Sockets {
  readonly #desk: Desk;
  readonly #clock: Clock;
  readonly #carry: CarrySockets;
  readonly #sockets = new WebSocketServer({ noServer: true, maxPayload: limits.longestRequest });
  /** Answered the last ping. */
  readonly #alive = new WeakSet<WebSocket>();
  /** Of devices of the network. */
  readonly #guests = new Set<WebSocket>();
  #cancelPing: (() => void) | null = null;

  /** The clock is the real one: it measures what sockets do, whatever the desk's clock is. */
  constructor(desk: Desk, clock: Clock, carry: CarrySockets) {
    this.#desk = desk;
    this.#carry = carry;
    this.#clock = clock;
    this.#pingLater();
  }

  attach(server: Server, door: Door): void {
    server.on("upgrade", (request, socket, head) => {
      // A socket that breaks before it was taken over has nobody else to hear of it.
      socket.on("error", () => socket.destroy());
      const refuse = (status: string): void => {
        socket.end(`HTTP/1.1 ${status}\r\nconnection: close\r\n\r\n`);
      };
      const path = pathOf(request.url);
      // An adapter is carried by the laptop's own browser; a device of the network has no business there.
      const carries = path === "/carry" && door.role === "full";
      if ((path !== "/ws" && !carries) || !isOwnOrigin(request, door)) return refuse("403 Forbidden");
      if (!door.isIn(request)) return refuse("401 Unauthorized");
      if (carries) {
        if (this.#carry.full) return refuse("503 Service Unavailable");
        return this.#carry.take(request, socket, head);
      }
      const isGuest = door.role !== "full";
      const full = this.#sockets.clients.size >= limits.mostSockets;
      if (full || (isGuest && this.#guests.size >= limits.mostGuestSockets))
        return refuse("503 Service Unavailable");
      this.#sockets.handleUpgrade(request, socket, head, (ws) => this.#welcome(ws, door));
    });
  }

  close(): void {
    this.#cancelPing?.();
    this.#carry.close();
    for (const ws of this.#sockets.clients) ws.terminate();
    this.#sockets.close();
  }

  #welcome(ws: WebSocket, door: Door): void {
    const visitor: Visitor = {
      role: door.role,
      tell: (message: ServerMessage) => send(ws, JSON.stringify(message)),
      send: (frame) => send(ws, frame),
      sendAway: () => ws.terminate(),
    };
    const asked = new Asked(this.#desk, visitor, this.#clock);
    this.#alive.add(ws);
    ws.on("pong", () => this.#alive.add(ws));
    ws.on("error", () => ws.terminate());
    if (door.role !== "full") this.#guests.add(ws);
    ws.on("close", () => {
      this.#guests.delete(ws);
      this.#desk.go(visitor);
    });
    ws.on("message", (data, isBinary) => {
      if (!asked.take(isBinary ? "" : textOf(data))) ws.terminate();
    });
    this.#desk.come(visitor);
  }

  #pingLater(): void {
    this.#cancelPing = this.#clock.after(limits.pingEveryMs, () => {
      for (const ws of this.#sockets.clients) {
        if (!this.#alive.delete(ws)) ws.terminate();
        else ws.ping();
      }
      this.#pingLater();
    });
  }
}

function send(ws: WebSocket, data: string | Uint8Array): void {
  if (ws.readyState !== ws.OPEN) return;
  if (ws.bufferedAmount > limits.mostBuffered) ws.terminate();
  else ws.send(data);
}

function textOf(data: Buffer | ArrayBuffer | Buffer[]): string {
  if (Array.isArray(data)) return Buffer.concat(data).toString("utf8");
  return Buffer.isBuffer(data) ? data.toString("utf8") : Buffer.from(data).toString("utf8");
}

/** What one page asked, and how much of it is still allowed. */
class Asked {
  readonly #desk: Desk;
  readonly #visitor: Visitor;
  readonly #clock: Clock;
  readonly #bucket: limits.Bucket;
  #waiting = 0;
  #refusals = 0;
  #refusedMs = Number.NEGATIVE_INFINITY;

  constructor(desk: Desk, visitor: Visitor, clock: Clock) {
    this.#desk = desk;
    this.#visitor = visitor;
    this.#clock = clock;
    this.#bucket = new limits.Bucket(limits.requestBurst, limits.requestsASecond, clock.now());
  }

  /** False for one that is to be cut off. */
  take(text: string): boolean {
    const now = this.#clock.now();
    if (!this.#bucket.take(now) || this.#waiting >= limits.mostWaiting) {
      // One that is taken now and then is no pause: how often that happens is the machine's doing.
      this.#refusals = now - this.#refusedMs < limits.pauseMs ? this.#refusals + 1 : 1;
      this.#refusedMs = now;
      this.#fail(idOf(text), new CranksideError("too-much", "more requests than are taken"));
      return this.#refusals < limits.mostRefusals;
    }
    this.#waiting += 1;
    void this.#answer(text).finally(() => (this.#waiting -= 1));
    return true;
  }

  async #answer(text: string): Promise<void> {
    let id = -1;
    try {
      const request = readMessage(requestSchema, text);
      id = request.id;
      this.#visitor.tell({ type: "done", id, ...(await this.#desk.handle(request, this.#visitor)) });
    } catch (error) {
      this.#fail(id, error);
    }
  }

  #fail(id: number, error: unknown): void {
    this.#visitor.tell({ type: "failed", id, failure: failureOf(error) });
  }
}

/** The number of a request that is not read any further; -1 where it has none. */
function idOf(text: string): number {
  return Number(/"id":(\d{1,15})[,}]/.exec(text)?.[1] ?? -1);
}
