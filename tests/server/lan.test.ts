/** The door to the network, on another address of this machine. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { WebSocket } from "ws";
import { lanHost } from "../../src/server/lan.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage, type Unnumbered } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { readQr } from "../support/qrReader.ts";

const lanAddress = "127.0.0.2";
let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;
let url: string;

beforeEach(async () => {
  folder = tempFolder();
  mkdirSync(join(folder.path, "own"));
  writeFileSync(join(folder.path, "own", "one.ndjson"), "x\n");
  server = await startServer({
    ...withoutPage(folder.path),
    folders: { own: join(folder.path, "own"), bundled: null },
    lan: { host: lanAddress },
  });
  url = server.lan?.url ?? "";
});

afterEach(async () => {
  await server.close();
  folder.remove();
});

function tryCode(code: string, origin = url.slice(0, -1)): Promise<Response> {
  return fetch(`${url}join`, { method: "POST", body: code, headers: { origin } });
}

/** The cookie that lets a device in. */
async function letIn(): Promise<string> {
  const answer = await tryCode(server.lan?.code ?? "");
  expect(answer.status).toBe(204);
  return (answer.headers.get("set-cookie") ?? "").split(";")[0] ?? "";
}

/** How opening the socket ends. */
function knock(headers: Record<string, string>, origin = url.slice(0, -1)): Promise<number | "open"> {
  return new Promise((resolve) => {
    const ws = new WebSocket(`${url.replace("http", "ws")}ws`, { origin, headers });
    ws.once("open", () => {
      ws.terminate();
      resolve("open");
    });
    ws.once("unexpected-response", (_request, response) => resolve(response.statusCode ?? 0));
    ws.once("error", () => undefined);
  });
}

test("before the code nothing is given away, whatever is asked for", async () => {
  for (const path of [
    "api/recordings",
    "api/recordings/one.ndjson",
    "api/lan.svg",
    "assets/x.js",
    "index.html",
  ]) {
    expect((await fetch(`${url}${path}`)).status, path).toBe(401);
  }
  expect(await knock({})).toBe(401);
  expect(await knock({ cookie: `crankside-guest=${"A".repeat(43)}` })).toBe(401);
  const first = await fetch(url, { redirect: "manual" });
  expect(first.headers.get("location")).toBe("/join");
});

test("a code lets one device in, once", async () => {
  const code = server.lan?.code ?? "";
  expect(code).toMatch(/^[2-9A-HJKMNP-TV-Z]{8}$/);
  const answer = await tryCode(` ${code.slice(0, 4).toLowerCase()} ${code.slice(4)} `);
  expect(answer.status).toBe(204);
  expect(answer.headers.get("set-cookie")).toMatch(/HttpOnly; SameSite=Strict/);
  expect(server.lan?.code).not.toBe(code);
  expect((await tryCode(code)).status).toBe(403);
});

test("codes cannot be tried through: five wrong ones change it, and ten at once are the most", async () => {
  const code = server.lan?.code ?? "";
  const seen = new Set<number>();
  for (let i = 0; i < 5; i++) seen.add((await tryCode("AAAAAAAA")).status);
  expect([...seen]).toEqual([403]);
  expect(server.lan?.code).not.toBe(code);
  for (let i = 0; i < 7; i++) seen.add((await tryCode("AAAAAAAA")).status);
  expect([...seen]).toEqual([403, 429]);
  expect((await tryCode(server.lan?.code ?? "")).status).toBe(429);
});

test("a device that is in reads and marks, and does nothing else", async () => {
  const cookie = await letIn();
  expect(await (await fetch(`${url}api/recordings/one.ndjson`, { headers: { cookie } })).text()).toBe("x\n");
  const laptop = await BarePage.open(server.url);
  const phone = await BarePage.open(url, { cookie });
  await phone.until(() => phone.last("lan") !== undefined);
  expect(phone.last("you")).toMatchObject({ role: "mark" });
  expect(phone.last("lan")?.lan).toMatchObject({ code: null, guests: 1 });
  await laptop.until(() => laptop.last("lan")?.lan?.guests === 1);
  expect(laptop.last("lan")?.lan).toMatchObject({ url, code: server.lan?.code });
  const forbidden: readonly Unnumbered[] = [
    { type: "connect", address: "bench:garden-van", facts: {} },
    { type: "disconnect" },
    { type: "stop" },
    { type: "start", facts: {} },
    { type: "channels", channels: [] },
    { type: "facts", recording: null, facts: {} },
    { type: "bench", act: { act: "key", to: "on" } },
    { type: "ports" },
    { type: "move" },
    { type: "take" },
    { type: "close-lan" },
    { type: "guests-enter", on: true },
  ];
  for (const request of forbidden) {
    expect(await phone.ask(request), request.type).toMatchObject({
      type: "failed",
      failure: { code: "role-refused" },
    });
  }
  await laptop.ask({ type: "connect", address: "bench:garden-van", facts: {} });
  const mark = { id: "p1", at: 5, label: "from beside the engine" };
  expect(await phone.ask({ type: "mark", recording: null, mark })).toMatchObject({ type: "done" });
  expect(await laptop.ask({ type: "close-lan" })).toMatchObject({ type: "done" });
  await expect.poll(() => server.lan).toBeNull();
  await expect(fetch(url)).rejects.toThrow();
  expect(laptop.last("lan")?.lan).toBeNull();
  phone.close();
  laptop.close();
}, 180_000);

test("a guest adds results once the laptop's owner allows it, and changes nothing else of the job", async () => {
  const cookie = await letIn();
  const laptop = await BarePage.open(server.url);
  const send = (base: string, path: string, body: unknown): Promise<Response> =>
    fetch(`${base}api/jobs${path}`, {
      method: "POST",
      body: JSON.stringify(body),
      headers: { cookie, origin: base.slice(0, -1) },
    });
  const made = (await (await send(server.url, "", { name: "Van" })).json()) as { id: string };
  const entry = (outcome: string): object => ({
    ...{ k: "result", id: "r1", at: "2026-05-02T09:00:00Z" },
    ...{ check: "listen-to-crank", outcome },
  });
  const adding = (outcome: string, path = ["log", "r1"]): object => ({
    changes: [{ path, after: { order: 1, entry: entry(outcome) } }],
  });
  const tried = async (body: unknown, what = "changes"): Promise<number> =>
    (await send(url, `/${made.id}/${what}`, body)).status;
  expect(await tried(adding("turns-as-usual"))).toBe(403);
  expect(await laptop.ask({ type: "guests-enter", on: true })).toMatchObject({ type: "done" });
  await laptop.until(() => laptop.last("lan")?.lan?.enter === true);
  expect(await tried(adding("turns-as-usual"))).toBe(200);
  // Sent twice it is one; another under its name is an alteration.
  expect(await tried(adding("turns-as-usual"))).toBe(200);
  for (const body of [
    adding("turns-slowly"),
    adding("turns-as-usual", ["log", "r1", "entry"]),
    { changes: [{ path: ["log", "r1", "removed"], after: true }] },
    { changes: [{ path: ["log", "r2"], after: { order: 2, entry: { ...entry("x"), k: "withdraw" } } }] },
    { changes: [{ path: ["texts", "conclusion"], after: "from elsewhere" }] },
  ])
    expect(await tried(body), JSON.stringify(body)).not.toBe(200);
  expect(await tried({}, "leave")).toBe(403);
  expect(await laptop.ask({ type: "guests-enter", on: false })).toMatchObject({ type: "done" });
  expect(await tried({ changes: [{ path: ["log", "r3"], after: { order: 3, entry: entry("x") } }] })).toBe(
    403,
  );
  laptop.close();
});

test("another site, and another name, are refused at this door too", async () => {
  expect((await tryCode(server.lan?.code ?? "", "http://evil.example")).status).toBe(403);
  const cookie = await letIn();
  expect(
    (await fetch(`${url}api/recordings`, { headers: { cookie, "sec-fetch-site": "cross-site" } })).status,
  ).toBe(403);
  expect(await knock({ cookie }, "http://evil.example")).toBe(403);
});

test("the laptop alone has the picture, and it is one", async () => {
  const answer = await fetch(`${server.url}api/lan.svg`);
  expect(answer.headers.get("content-type")).toBe("image/svg+xml");
  const text = await answer.text();
  expect(text).toMatch(/^<svg [^>]*viewBox="0 0 \d+ \d+"/);
  expect(text).not.toContain(server.lan?.code);
});

test("the picture in the terminal says address and code to a reader of its own", () => {
  const rows = (server.lan?.text() ?? "").split("\n").filter((row) => row !== "");
  // Two modules in a character, light ones drawn: as on a dark screen.
  const light = rows.flatMap((row) => [
    Array.from(row, (c) => ("█▀".includes(c) ? 255 : 0)),
    Array.from(row, (c) => ("█▄".includes(c) ? 255 : 0)),
  ]);
  const width = light[0]?.length ?? 0;
  // The last row may be half of one.
  const whole = light.filter((row) => row.length === width && row.some((v) => v > 0));
  expect(readQr({ width, height: whole.length, light: whole.flat() })).toBe(`${url}join#${server.lan?.code}`);
});

test("an address that is not this machine's cannot be opened", () => {
  expect(() => lanHost("203.0.113.9")).toThrow(expect.objectContaining({ code: "wrong-use" }) as Error);
  expect(() => lanHost("203.0.113.9", ["192.168.1.4"])).toThrow(/--lan 203\.0\.113\.9.*192\.168\.1\.4/s);
});

test("one usable network is taken by itself; where there is none, it says what to do", () => {
  expect(lanHost(null, ["198.51.100.7"])).toBe("198.51.100.7");
  expect(lanHost(null, ["198.51.100.7", "192.168.1.4"])).toBe("192.168.1.4");
  expect(() => lanHost(null, ["198.51.100.7", "203.0.113.9"])).toThrow(
    /--lan with one of 198\.51\.100\.7, 203/,
  );
  expect(() => lanHost(null, [])).toThrow(/this machine is in no network/);
});
