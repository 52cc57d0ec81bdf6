/** Sockets of pages that carry an adapter's bytes: `/carry`, on this machine's own door only. */
import type { IncomingMessage } from "node:http";
import type { Duplex } from "node:stream";
import { WebSocketServer, type RawData, type WebSocket } from "ws";
import { Carrier, type Carriers } from "../../adapters/link/index.ts";
import { carrierMessageSchema, carryClosings } from "../../shared/carried.ts";
import type { Clock } from "../../shared/clock.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { readMessage } from "../../shared/messages.ts";
import * as limits from "./limits.ts";

/** Takes over sockets that a page opened to carry a device. One that says anything else than it should is ended. */
export class CarrySockets {
  readonly #carriers: Carriers;
  readonly #clock: Clock;
  readonly #sockets = new WebSocketServer({ noServer: true, maxPayload: limits.longestRequest });

  constructor(carriers: Carriers, clock: Clock) {
    this.#carriers = carriers;
    this.#clock = clock;
  }

  take(request: IncomingMessage, socket: Duplex, head: Buffer): void {
    this.#sockets.handleUpgrade(request, socket, head, (ws) => this.#welcome(ws));
  }

  /** Pages at once: there is one device of each way, and a page that just lost its socket may come back before it is missed. */
  get full(): boolean {
    return this.#sockets.clients.size >= limits.mostCarriers;
  }

  close(): void {
    for (const ws of this.#sockets.clients) ws.terminate();
    this.#sockets.close();
  }

  #welcome(ws: WebSocket): void {
    let carrier: Carrier | null = null;
    ws.binaryType = "nodebuffer";
    ws.on("error", () => ws.terminate());
    ws.on("close", () => {
      if (carrier !== null) this.#carriers.remove(carrier);
    });
    ws.on("message", (data: RawData, isBinary) => {
      const bytes = data as Buffer;
      if (isBinary) {
        carrier?.bytes(bytes);
        return;
      }
      try {
        const message = readMessage(carrierMessageSchema, bytes.toString("utf8"));
        if (message.type !== "here") {
          carrier?.heard(message);
          return;
        }
        if (carrier !== null) return ws.close(carryClosings.notOurs);
        const made = this.#carrierOn(ws, message);
        if (this.#carriers.add(made)) carrier = made;
        else ws.close(carryClosings.taken);
      } catch (error) {
        if (!isCranksideError(error, "message-invalid")) throw error;
        ws.close(carryClosings.notOurs);
      }
    });
  }

  #carrierOn(ws: WebSocket, device: { readonly way: Carrier["way"]; readonly device: string }): Carrier {
    const isOpen = (): boolean => ws.readyState === ws.OPEN;
    return new Carrier(
      device,
      {
        order: (order) => isOpen() && ws.send(JSON.stringify(order)),
        bytes: (frame) => isOpen() && ws.send(frame),
      },
      this.#clock,
    );
  }
}
