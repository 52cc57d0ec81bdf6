/** A page without a screen that carries a device's bytes to a server's socket. */
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { WebSocket } from "ws";
import { Carriers, memoryPair, realClock } from "../../adapters/link/index.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import type { BrowserDevice, DeviceEars } from "../../src/page/lib/connection/carry/device.ts";
import { CarriedLine } from "../../src/page/lib/connection/carry/line.ts";
import { CarrySockets } from "../../src/server/carry.ts";

/** A device whose other side is the end of a line in memory, a new one at each opening. */
export class MemoryDevice implements BrowserDevice {
  readonly way = "ble";
  readonly name = "test adapter";
  readonly bauds: number[] = [];
  far: ByteEnd | null = null;
  #near: ByteEnd | null = null;

  open(baud: number, ears: DeviceEars): Promise<void> {
    this.bauds.push(baud);
    const [near, far] = memoryPair("page", "device");
    this.#near = near;
    this.far = far;
    near.onBytes((bytes) => ears.bytes(bytes));
    near.onClose((why) => why !== null && ears.lost(why.message));
    return Promise.resolve();
  }

  write(bytes: Uint8Array): Promise<void> {
    return this.#near?.write(bytes) ?? Promise.reject(new Error("it is not open"));
  }

  async close(): Promise<void> {
    await this.#near?.close();
  }
}

export interface CarryServer {
  readonly carriers: Carriers;
  readonly url: string;
  stop(): Promise<void>;
}

export async function carryServer(): Promise<CarryServer> {
  const carriers = new Carriers();
  const sockets = new CarrySockets(carriers, realClock);
  const server = createServer();
  server.on("upgrade", (request, socket, head) => sockets.take(request, socket, head));
  await new Promise<void>((resolve) => {
    server.listen(0, "127.0.0.1", resolve);
  });
  return {
    carriers,
    url: `ws://127.0.0.1:${(server.address() as AddressInfo).port}/`,
    stop: async () => {
      sockets.close();
      await new Promise<void>((resolve) => {
        server.close(() => resolve());
      });
    },
  };
}

/** Resolves when the page said what it has; closing the socket is what a closed tab does. */
export async function carryOn(url: string, device: BrowserDevice): Promise<WebSocket> {
  const ws = new WebSocket(url);
  ws.binaryType = "arraybuffer";
  const line = new CarriedLine(
    device,
    (data) => {
      if (ws.readyState !== ws.OPEN) return false;
      ws.send(data);
      return true;
    },
    () => undefined,
  );
  ws.on("message", (data, isBinary) => {
    if (isBinary) line.bytes(new Uint8Array(data as ArrayBuffer));
    else line.order(Buffer.from(data as ArrayBuffer).toString("utf8"));
  });
  ws.on("close", () => void line.end());
  ws.on("error", () => undefined);
  await new Promise<void>((resolve, reject) => {
    ws.once("open", resolve);
    ws.once("error", reject);
  });
  line.begin();
  return ws;
}

/** Both ends of a line that goes through a page, for the contract of lines. */
export async function carriedByPage() {
  const server = await carryServer();
  const device = new MemoryDevice();
  const ws = await carryOn(server.url, device);
  // The answer to a ping comes behind what was said before it.
  await new Promise<void>((resolve) => {
    ws.once("pong", () => resolve());
    ws.ping();
  });
  const near = await server.carriers.open("ble", 38_400);
  const { far } = device;
  if (far === null) throw new Error("the device was not opened");
  return {
    near,
    far,
    lose: () => far.close(),
    cleanUp: async () => {
      ws.terminate();
      await server.stop();
    },
  };
}
