import { createServer, type AddressInfo, type Socket } from "node:net";
import { expect, test } from "vitest";
import { listenTcp, openTcp, VirtualClock } from "../../adapters/link/index.ts";
import { isCranksideError } from "../../shared/errors.ts";
import type { ByteEnd } from "../../shared/wire.ts";

test("nobody listens: link-failed with the address", async () => {
  const listener = await listenTcp({ host: "127.0.0.1", port: 0 }, () => undefined);
  await listener.close();
  await listener.close();
  const outcome = await openTcp({ host: "127.0.0.1", port: listener.port }).catch((e: unknown) => e);
  expect(isCranksideError(outcome, "link-failed")).toBe(true);
  expect((outcome as { context: { where: string } }).context.where).toBe(`tcp:127.0.0.1:${listener.port}`);
});

test("a connection that takes too long is given up", async () => {
  const listener = await listenTcp({ host: "127.0.0.1", port: 0 }, () => undefined);
  const clock = new VirtualClock();
  const opening = openTcp({ host: "127.0.0.1", port: listener.port, withinMs: 3000 }, clock);
  // The clock runs out before the system had a turn to connect.
  clock.advance(3000);
  const outcome = await opening.catch((e: unknown) => e);
  expect(isCranksideError(outcome, "link-failed")).toBe(true);
  await listener.close();
});

test("a port in use is busy", async () => {
  const listener = await listenTcp({ host: "127.0.0.1", port: 0 }, () => undefined);
  const outcome = await listenTcp({ host: "127.0.0.1", port: listener.port }, () => undefined).catch(
    (e: unknown) => e,
  );
  expect(isCranksideError(outcome, "port-busy")).toBe(true);
  await listener.close();
});

test("a listener that is closed takes its ends along", async () => {
  const ends: ByteEnd[] = [];
  const listener = await listenTcp({ host: "127.0.0.1", port: 0 }, (end) => ends.push(end));
  const near = await openTcp({ host: "127.0.0.1", port: listener.port });
  const lost = new Promise((resolve) => {
    near.onClose(resolve);
  });
  await near.write(Uint8Array.of(1));
  await listener.close();
  expect(isCranksideError(await lost, "link-failed")).toBe(true);
});

test("a peer that resets the connection is a loss, told once", async () => {
  let connected: (socket: Socket) => void = () => undefined;
  const accepted = new Promise<Socket>((resolve) => {
    connected = resolve;
  });
  const server = createServer((socket) => connected(socket));
  await new Promise<void>((resolve) => {
    server.listen(0, "127.0.0.1", resolve);
  });
  const near = await openTcp({ host: "127.0.0.1", port: (server.address() as AddressInfo).port });
  const reports: unknown[] = [];
  const lost = new Promise<void>((resolve) => {
    near.onClose((why) => {
      reports.push(why);
      resolve();
    });
  });
  await near.write(Uint8Array.of(1));
  const reset = new Promise((resolve) => server.close(resolve));
  (await accepted).resetAndDestroy();
  await lost;
  await reset;
  await near.close();
  expect(reports.map((why) => isCranksideError(why, "link-failed"))).toEqual([true]);
});
