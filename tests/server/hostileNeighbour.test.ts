/** What somebody on the same machine or in the same network may try, and what goes on all the same. */
import { mkdirSync, readFileSync, utimesSync, writeFileSync } from "node:fs";
import { createConnection } from "node:net";
import { request } from "node:http";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { WebSocket } from "ws";
import { realClock } from "../../adapters/link/index.ts";
import { parseAddress } from "../../shared/address.ts";
import { holdAdapter } from "../../src/server/holds.ts";
import { mostGuestSockets } from "../../src/server/limits.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";

const header =
  '{"format":"crankside-recording","version":1,"started":"2026-01-05T08:00:00Z","from":"test","adapter":null,"protocol":null,"vehicle":{},"invented":false,"writer":"test"}\n';
let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;
let url: string;

beforeEach(async () => {
  folder = tempFolder();
  mkdirSync(join(folder.path, "own"));
  const file = join(folder.path, "own", "one.ndjson");
  writeFileSync(file, header);
  // Nobody writes it any more.
  utimesSync(file, 1_767_600_000, 1_767_600_000);
  server = await startServer({
    ...withoutPage(folder.path),
    folders: { own: join(folder.path, "own"), bundled: null },
    lan: { host: "127.0.0.2" },
  });
  url = server.lan?.url ?? "";
});

afterEach(async () => {
  await server.close();
  folder.remove();
});

function raw(path: string): Promise<string> {
  const { port } = new URL(server.url);
  return new Promise((resolve, reject) => {
    const socket = createConnection(Number(port), "127.0.0.1");
    let text = "";
    socket.setEncoding("utf8").on("data", (chunk: string) => (text += chunk));
    socket.once("error", reject);
    socket.once("close", () => resolve(text.split("\r\n")[0] ?? ""));
    socket.end(`GET ${path} HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nConnection: close\r\n\r\n`);
  });
}

/** From another address of this machine: a device of its own. */
function tryCode(code: string, localAddress = "127.0.0.1"): Promise<{ status: number; cookie: string }> {
  return new Promise((resolve, reject) => {
    const headers = { origin: url.slice(0, -1), "content-length": code.length };
    const asked = request(`${url}join`, { method: "POST", headers, localAddress }, (response) => {
      response.resume();
      const [cookie = ""] = response.headers["set-cookie"] ?? [];
      resolve({ status: response.statusCode ?? 0, cookie: cookie.split(";")[0] ?? "" });
    });
    asked.once("error", reject);
    asked.end(code);
  });
}

async function letIn(): Promise<string> {
  return (await tryCode(server.lan?.code ?? "")).cookie;
}

test.each([
  "/api/jobs/x/photos/%00",
  "/api/jobs/%00",
  "/api/jobs/x/%00/y",
  "/api/recordings/%00.ndjson",
  "/%00",
  "/api/jobs/x/tie?file=%00",
])(
  "a name with a NUL in it (%s) is refused, and the live recording goes on",
  async (path) => {
    const laptop = await BarePage.open(server.url);
    await laptop.ask({ type: "connect", address: "bench:garden-van", facts: {} });
    const events = (): number => laptop.status?.recording?.bytes ?? 0;
    expect(await raw(path)).toMatch(/ (400|404) /);
    const before = events();
    await laptop.until(() => events() > before);
    laptop.close();
  },
  180_000,
);

describe("a joined phone and the owner", () => {
  test("so many sockets are the phone's, the rest is kept back for the laptop", async () => {
    const cookie = await letIn();
    const opened: WebSocket[] = [];
    const knock = (): Promise<number> =>
      new Promise((resolve) => {
        const ws = new WebSocket(`${url.replace("http", "ws")}ws`, {
          origin: url.slice(0, -1),
          headers: { cookie },
        });
        ws.once("open", () => {
          opened.push(ws);
          resolve(200);
        });
        ws.once("unexpected-response", (_request, response) => resolve(response.statusCode ?? 0));
        ws.once("error", () => undefined);
      });
    for (let i = 0; i < mostGuestSockets; i++) expect(await knock()).toBe(200);
    expect(await knock()).toBe(503);
    const laptop = await BarePage.open(server.url);
    laptop.close();
    for (const ws of opened) ws.terminate();
  });

  test("many marks on a finished recording are added together, none is lost, and the owner's is among them", async () => {
    const laptop = await BarePage.open(server.url);
    const phone = await BarePage.open(url, { cookie: await letIn() });
    const mark = (page: BarePage, id: string): ReturnType<BarePage["ask"]> =>
      page.ask({ type: "mark", recording: "one.ndjson", mark: { id, at: 1, label: id } });
    const asked = Array.from({ length: 40 }, (_, i) => mark(phone, `p${i}`));
    const own = await mark(laptop, "own");
    expect(own).toMatchObject({ type: "done" });
    const done = (await Promise.all(asked)).filter(({ type }) => type === "done").length;
    const text = readFileSync(join(folder.path, "own", "one.ndjson"), "utf8");
    expect(text.match(/"id":"p\d+"/g)).toHaveLength(done);
    expect(text).toContain('"id":"own"');
    // Each addition closes with an end line: far fewer than marks.
    expect(text.match(/"k":"end"/g)?.length ?? 0).toBeLessThan(10);
    laptop.close();
    phone.close();
  });
});

describe("the code", () => {
  test("a neighbour's wrong ones keep nobody else out, nor does the change that they bring", async () => {
    const seen = server.lan?.code ?? "";
    const statuses: number[] = [];
    for (let i = 0; i < 20; i++) statuses.push((await tryCode("AAAAAAAA", "127.0.0.3")).status);
    expect(statuses).toContain(429);
    expect(server.lan?.code).not.toBe(seen);
    expect((await tryCode(server.lan?.code ?? "")).status).toBe(204);
  });

  test("one that is being typed while wrong ones change it is still good, once", async () => {
    const seen = server.lan?.code ?? "";
    for (let i = 0; i < 5; i++) await tryCode("AAAAAAAA", "127.0.0.3");
    expect(server.lan?.code).not.toBe(seen);
    expect((await tryCode(seen)).status).toBe(204);
    expect((await tryCode(seen)).status).toBe(403);
  });
});

test("a guest may change nothing, whatever the route", async () => {
  const cookie = await letIn();
  const made = (await (
    await fetch(`${server.url}api/jobs`, {
      method: "POST",
      body: JSON.stringify({ name: "van" }),
      headers: { origin: server.url.slice(0, -1) },
    })
  ).json()) as { id: string };
  const routes = [
    ["api/jobs", '{"name":"theirs"}'],
    ["api/jobs?bundle", "PK"],
    [`api/jobs/${made.id}/open`, ""],
    [`api/jobs/${made.id}/changes`, '{"changes":[]}'],
    [`api/jobs/${made.id}/photos`, "x"],
    [`api/jobs/${made.id}/take-in`, '{"file":"one.ndjson"}'],
    [`api/jobs/${made.id}`, ""],
    ["api/recordings/one.ndjson", "x"],
    ["api/recordings", "x"],
  ] as const;
  const before = await (await fetch(`${server.url}api/jobs/${made.id}`)).text();
  for (const [path, body] of routes)
    for (const method of ["POST", "PUT", "DELETE", "PATCH"]) {
      const answer = await fetch(`${url}${path}`, {
        method,
        body,
        headers: { cookie, origin: url.slice(0, -1) },
      });
      expect([403, 405], `${method} ${path}: ${answer.status}`).toContain(answer.status);
    }
  expect(await (await fetch(`${server.url}api/jobs/${made.id}`)).text()).toBe(before);
  expect(await (await fetch(`${url}api/jobs/${made.id}`, { headers: { cookie } })).text()).toBe(before);
  expect(readFileSync(join(folder.path, "own", "one.ndjson"), "utf8")).toBe(header);
});

test("one adapter has one hold, by whatever name its machine is called", async () => {
  const notes = join(folder.path, "notes");
  const letGo = await holdAdapter(parseAddress("tcp:127.0.0.1:35000"), realClock, notes);
  const again = holdAdapter(parseAddress("tcp:localhost:35000"), realClock, notes);
  await expect(again).rejects.toMatchObject({ code: "link-held" });
  letGo();
  (await holdAdapter(parseAddress("tcp:localhost:35000"), realClock, notes))();
});
