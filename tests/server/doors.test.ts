import { createConnection } from "node:net";
import { mkdirSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { WebSocket } from "ws";
import { realClock } from "../../adapters/link/index.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { tempFolder } from "../support/program.ts";

const folder = tempFolder();
const own = join(folder.path, "own");
const header =
  '{"format":"crankside-recording","version":1,"started":"2026-01-05T08:00:00Z","from":"test","vehicle":{}}\n';
let server: RunningServer;
let port: number;

beforeAll(async () => {
  mkdirSync(own);
  writeFileSync(join(own, "one.ndjson"), header);
  writeFileSync(join(folder.path, "secret.ndjson"), header);
  server = await startServer({
    port: 0,
    pageFolder: join(folder.path, "no-page"),
    folders: { own, bundled: null },
    clock: realClock,
    writer: "test",
  });
  port = Number(new URL(server.url).port);
});

afterAll(async () => {
  await server.close();
  folder.remove();
});

/** The status line of a request with headers that fetch would not send. */
function rawStatus(path: string, headers: readonly string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = createConnection(port, "127.0.0.1");
    let text = "";
    socket.setEncoding("utf8").on("data", (chunk: string) => (text += chunk));
    socket.once("error", reject);
    socket.once("close", () => resolve(text.split("\r\n")[0] ?? ""));
    socket.end([`GET ${path} HTTP/1.1`, ...headers, "Connection: close", "", ""].join("\r\n"));
  });
}

test("a Host header that names another machine is refused", async () => {
  expect(await rawStatus("/api/recordings", ["Host: evil.example"])).toContain("421");
  expect(await rawStatus("/api/recordings", [`Host: localhost:${port}`])).toContain("200");
});

test("nothing outside the recordings folder can be read", async () => {
  symlinkSync(folder.path, join(own, "out.ndjson"));
  for (const path of [
    "..%2Fsecret.ndjson",
    "..%5Csecret.ndjson",
    ".hidden.ndjson",
    "%2Fetc%2Fpasswd",
    "%E0%A4%A",
    "a%00.ndjson",
  ]) {
    const response = await fetch(`${server.url}api/recordings/${path}`);
    expect(response.status, path).toBeGreaterThanOrEqual(400);
  }
});

test("only reading is served over HTTP", async () => {
  for (const method of ["POST", "PUT", "DELETE", "PATCH"]) {
    expect((await fetch(`${server.url}api/recordings/one.ndjson`, { method })).status).toBe(405);
  }
});

test("scripts may only come from files", async () => {
  const policy = (await fetch(server.url)).headers.get("content-security-policy") ?? "";
  expect(policy).toContain("default-src 'self'");
  expect(policy).not.toMatch(/script-src[^;]*unsafe-inline/);
});

/** Resolves with what the socket met first. */
function knock(origin: string | undefined): Promise<"open" | "refused"> {
  return new Promise((resolve) => {
    const ws = new WebSocket(`ws://127.0.0.1:${port}/ws`, origin === undefined ? {} : { origin });
    ws.once("open", () => {
      ws.close();
      resolve("open");
    });
    ws.once("error", () => resolve("refused"));
  });
}

test("a page of another site cannot drive the program", async () => {
  expect(await knock("http://evil.example")).toBe("refused");
  expect(await knock(`http://127.0.0.1:${port + 1}`)).toBe("refused");
  expect(await knock(undefined)).toBe("refused");
  expect(await knock(`http://127.0.0.1:${port}`)).toBe("open");
});

test("a recording is sent from the byte that was asked for", async () => {
  const whole = await (await fetch(`${server.url}api/recordings/one.ndjson`)).text();
  expect(whole).toBe(header);
  expect(await (await fetch(`${server.url}api/recordings/one.ndjson?from=10`)).text()).toBe(header.slice(10));
  expect((await fetch(`${server.url}api/recordings/one.ndjson?from=-1`)).status).toBe(400);
});
