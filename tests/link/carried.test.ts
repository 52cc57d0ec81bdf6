/** What a page that carries an adapter may do to the line: fail to open, go away, come back, be one of two. */
import { afterEach, beforeEach, expect, test } from "vitest";
import { carriedFrame, carryClosings } from "../../shared/carried.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { carryOn, carryServer, MemoryDevice, type CarryServer } from "../support/carrying.ts";
import { WebSocket } from "ws";

let server: CarryServer;
beforeEach(async () => {
  server = await carryServer();
});
afterEach(() => server.stop());

/** Resolves when all that the page said before has been read by the server. */
function read(ws: WebSocket): Promise<void> {
  return new Promise((resolve) => {
    ws.once("pong", () => resolve());
    ws.ping();
  });
}

function codeOf(ws: WebSocket): Promise<number> {
  return new Promise((resolve) => {
    ws.once("close", resolve);
  });
}

test("without a page the line cannot be opened, and the text says what to do", async () => {
  const why: unknown = await server.carriers.open("ble", 38_400).catch((error: unknown) => error);
  expect(isCranksideError(why, "link-failed")).toBe(true);
  expect(String(why)).toMatch(/Chromium/);
});

test("a device that does not open says why", async () => {
  const device = new MemoryDevice();
  device.open = () => Promise.reject(new Error("out of reach"));
  await read(await carryOn(server.url, device));
  const why: unknown = await server.carriers.open("ble", 38_400).catch((error: unknown) => error);
  expect(isCranksideError(why, "link-failed")).toBe(true);
  expect(String(why)).toMatch(/out of reach/);
});

test("a tab that is closed is a lost line, and one that comes back opens again", async () => {
  const first = await carryOn(server.url, new MemoryDevice());
  await read(first);
  const end = await server.carriers.open("ble", 38_400);
  const lost = new Promise<unknown>((resolve) => {
    end.onClose(resolve);
  });
  first.terminate();
  const why = await lost;
  expect(isCranksideError(why, "link-failed")).toBe(true);
  expect(String(why)).toMatch(/tab/);
  const device = new MemoryDevice();
  await read(await carryOn(server.url, device));
  const again = await server.carriers.open("ble", 115_200);
  expect(device.bauds).toEqual([115_200]);
  await again.close();
});

test("a second page with such a device is told, and the first goes on", async () => {
  await read(await carryOn(server.url, new MemoryDevice()));
  const second = await carryOn(server.url, new MemoryDevice());
  expect(await codeOf(second)).toBe(carryClosings.taken);
  const end = await server.carriers.open("ble", 38_400);
  await end.close();
});

test("bytes of an earlier opening are not taken for those of this one", async () => {
  const device = new MemoryDevice();
  const ws = await carryOn(server.url, device);
  await read(ws);
  const first = await server.carriers.open("ble", 38_400);
  await first.close();
  const end = await server.carriers.open("ble", 38_400);
  const heard: number[] = [];
  end.onBytes((bytes) => heard.push(...bytes));
  ws.send(carriedFrame(1, Uint8Array.of(0x41)));
  ws.send(carriedFrame(2, Uint8Array.of(0x42)));
  await read(ws);
  expect(heard).toEqual([0x42]);
});

test.each(["hello", '{"type":"open","n":1,"baud":9600}', '{"type":"here","way":"telepathy","device":""}'])(
  "a page that says %s is sent away",
  async (text) => {
    const ws = new WebSocket(server.url);
    ws.on("open", () => ws.send(text));
    expect(await codeOf(ws)).toBe(carryClosings.notOurs);
  },
);
