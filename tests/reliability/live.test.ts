/** A server with a scripted adapter behind it, driven with broken and hostile requests through its doors. */
import { readdirSync } from "node:fs";
import { createConnection } from "node:net";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { mayLeave } from "../support/mayLeave.ts";
import { idlingModule, tcpPeer, type TcpPeer } from "../support/tcpPeer.ts";
import { goodJob, goodRequests } from "./good.ts";
import { Chance, mutate, mutateJson } from "./mutate.ts";

let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;
let adapter: TcpPeer;
let unhandled: unknown[] = [];
const note = (reason: unknown): void => void unhandled.push(reason);

beforeEach(async () => {
  unhandled = [];
  process.on("unhandledRejection", note);
  folder = tempFolder();
  adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5 });
  server = await startServer({
    ...withoutPage(folder.path),
    folders: { own: join(folder.path, "own"), bundled: null },
  });
});

afterEach(async () => {
  await server.close();
  await adapter.close();
  folder.remove();
  process.off("unhandledRejection", note);
  expect(unhandled).toEqual([]);
});

async function connected(): Promise<BarePage> {
  const page = await BarePage.open(server.url);
  const answer = await page.ask({ type: "connect", address: adapter.address, facts: {} });
  expect(answer).toMatchObject({ type: "done" });
  return page;
}

const forbidden = [
  "04",
  "0400",
  "08",
  "1003",
  "2701",
  "2E1234FF",
  "2F123403",
  "31010203",
  "3E00",
  "ATMA",
  "22F190",
];

test("whatever the socket is asked, nothing forbidden reaches the adapter, and each is answered", async () => {
  let page = await connected();
  const chance = new Chance(7);
  for (let round = 0; round < 12; round++) {
    const before = page.messages.length;
    let asked = 0;
    for (let i = 0; i < 80; i++) {
      const channel = chance.of([...forbidden, "engine-speed", "\r04\r", "0104"]);
      const good = chance.of([
        ...goodRequests.filter(({ type }) => type !== "connect" && type !== "disconnect"),
        { type: "channels", id: i, channels: [channel, "load"] },
        { type: "connect", id: i, address: `${adapter.address}\r04\r`, facts: {} },
        { type: "mark", id: i, recording: null, mark: { id: "x", at: 1, label: `04\r${channel}` } },
        { type: channel, id: i },
        { type: "raw", id: i, command: channel },
      ]);
      const text =
        chance.below(3) === 0
          ? mutate(chance, Buffer.from(JSON.stringify(good))).toString("utf8")
          : JSON.stringify(chance.below(2) === 0 ? good : mutateJson(chance, good));
      if (text.length > 60_000) continue;
      page.send(text);
      asked += 1;
    }
    const answers = (): number =>
      page.messages.slice(before).filter((m) => m.type === "done" || m.type === "failed").length;
    await page.until(() => answers() >= asked);
    page.close();
    page = await BarePage.open(server.url);
  }
  await page.ask({ type: "disconnect" });
  const after = await connected();
  // The link is as good as new: readings go on being asked for, and whatever was held back has come out before them.
  const before = adapter.peer.received.length;
  const readings = (): number =>
    adapter.peer.received.slice(before).filter((command) => command.startsWith("01")).length;
  await after.until(() => readings() >= 20);
  expect(adapter.peer.received.filter((command) => !mayLeave(command))).toEqual([]);
  page.close();
  after.close();
}, 120_000);

test("whatever HTTP is asked, nothing forbidden reaches the adapter and nothing is written elsewhere", async () => {
  const page = await connected();
  for (const path of [
    ...forbidden,
    "send?command=04",
    "adapter/04",
    "clear",
    "api/04",
    "api/request?ask=04",
  ]) {
    for (const method of ["GET", "POST", "PUT", "DELETE"]) {
      const response = await fetch(`${server.url}${path}`, { method });
      expect(response.status, `${method} ${path}`).toBeGreaterThanOrEqual(400);
    }
  }
  const origin = server.url.slice(0, -1);
  const send = (path: string, body: Uint8Array | string): Promise<number> =>
    fetch(`${server.url}${path}`, { method: "POST", headers: { origin }, body: Buffer.from(body) }).then(
      async (response) => {
        await response.arrayBuffer();
        return response.status;
      },
      // Cut off in the middle of a body that is too long: that is an answer too.
      () => 0,
    );
  expect(await send("api/jobs", '{"name":"cart"}')).toBe(200);
  const [id = ""] = readdirSync(join(folder.path, "own", "jobs")).filter((name) => !name.startsWith("."));
  const chance = new Chance(11);
  const changes = { changes: [{ path: ["texts", "complaint"], after: "dies" }] };
  for (let i = 0; i < 400; i++) {
    const [path, good] = chance.of<readonly [string, unknown]>([
      ["api/jobs", { name: "../../evil" }],
      [`api/jobs/${id}/changes`, changes],
      [`api/jobs/${id}/changes`, { changes: [{ path: ["__proto__", "polluted"], after: goodJob }] }],
      [`api/jobs/${id}/take-in`, { file: "../../secret.ndjson" }],
      [`api/jobs/${id}/photos`, "\x89PNG\r\n\x1a\n"],
      [`api/jobs/..%2F..%2Fx/open`, {}],
    ]);
    const body =
      typeof good === "string"
        ? Buffer.from(good, "latin1")
        : Buffer.from(JSON.stringify(mutateJson(chance, good)));
    await send(path, chance.below(2) === 0 ? body : mutate(chance, body));
  }
  expect(await send(`api/jobs/${id}/changes`, Buffer.alloc(40 * 1024 * 1024, 0x20))).not.toBe(200);
  expect(({} as Record<string, unknown>)["polluted"]).toBeUndefined();
  expect(readdirSync(folder.path)).toEqual(["own"]);
  expect((await fetch(`${server.url}api/recordings`)).status).toBe(200);
  expect(adapter.peer.received.filter((command) => !mayLeave(command))).toEqual([]);
  page.close();
}, 120_000);

test("bytes that are no HTTP are ended, and the next one is served", async () => {
  const port = Number(new URL(server.url).port);
  const chance = new Chance(13);
  const request = Buffer.from(
    `GET /ws HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n` +
      `Origin: http://127.0.0.1:${port}\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: ${"A".repeat(22)}==\r\n\r\n`,
  );
  for (let i = 0; i < 200; i++) {
    await new Promise<void>((resolve) => {
      const socket = createConnection(port, "127.0.0.1");
      socket.on("error", () => undefined);
      socket.on("close", () => resolve());
      socket.on("data", () => socket.end());
      socket.write(mutate(chance, request));
      socket.write(chance.bytes(chance.below(100)));
      socket.end();
    });
  }
  expect((await fetch(`${server.url}api/recordings`)).status).toBe(200);
}, 120_000);

test("polling ends when the page says so, and goes on when it does", async () => {
  const page = await connected();
  expect(await page.ask({ type: "stop" })).toMatchObject({ type: "done" });
  const paused = adapter.peer.received.length;
  await fetch(`${server.url}api/recordings`);
  await page.ask({ type: "ports" });
  expect(adapter.peer.received.length).toBe(paused);
  expect(await page.ask({ type: "start", facts: {} })).toMatchObject({ type: "done" });
  await page.until(() => (page.status?.recording ?? null) !== null);
  await expect.poll(() => adapter.peer.received.length).toBeGreaterThan(paused + 3);
  page.close();
}, 180_000);
