import { createConnection } from "node:net";
import { spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { networkInterfaces } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { WebSocket } from "ws";
import { realClock } from "../../adapters/link/index.ts";
import { newJob } from "../../src/sheet/job.ts";
import { recordingPath } from "../../src/server/folders.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage } from "../support/barePage.ts";
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
    ...withoutPage(folder.path),
    folders: { own, bundled: null },
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

/** The addresses of this machine by which others could come, and one more that only Linux has by itself. */
const otherAddresses = [
  ...Object.values(networkInterfaces()).flatMap((all) => (all ?? []).map(({ address }) => address)),
  ...(process.platform === "linux" ? ["127.0.0.2"] : []),
].filter((address) => address !== "127.0.0.1" && !address.startsWith("fe80"));

test.skipIf(otherAddresses.length === 0)("no other address of this machine leads to it", async () => {
  for (const host of otherAddresses) {
    const met = await new Promise<string>((resolve) => {
      const socket = createConnection(port, host);
      socket.once("connect", () => resolve("open"));
      socket.once("error", () => resolve("refused"));
    });
    expect(met, host).toBe("refused");
  }
});

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

test("a link in the folder leads nowhere: not read, not added to, listed with its problem", async () => {
  const secret = join(folder.path, "secret.ndjson");
  symlinkSync(secret, join(own, "linked.ndjson"));
  symlinkSync(join(own, "one.ndjson"), join(own, "inner.ndjson"));
  mkdirSync(join(own, "folder.ndjson"));
  for (const file of ["linked.ndjson", "inner.ndjson", "folder.ndjson"]) {
    expect((await fetch(`${server.url}api/recordings/${file}`)).status, file).toBe(404);
  }
  const page = await BarePage.open(server.url);
  const mark = { id: "m", at: 0, label: "x" };
  expect(await page.ask({ type: "mark", recording: "linked.ndjson", mark })).toMatchObject({
    type: "failed",
    failure: { code: "file-missing" },
  });
  page.close();
  expect(readFileSync(secret, "utf8")).toBe(header);
  const list = (await (await fetch(`${server.url}api/recordings`)).json()) as {
    file: string;
    problem: string | null;
  }[];
  expect(list.find(({ file }) => file === "linked.ndjson")?.problem).toContain("plain file");
});

test("a link in a job leads nowhere either", async () => {
  const jobs = join(own, "jobs");
  const outside = join(folder.path, "outside");
  mkdirSync(join(outside, "photos"), { recursive: true });
  writeFileSync(join(outside, "photos", `${"a".repeat(16)}.png`), "secret");
  writeFileSync(join(outside, "job.json"), JSON.stringify(newJob("linked", "2024-03-02T09:00:00Z")));
  mkdirSync(join(jobs, "inner", "recordings"), { recursive: true });
  writeFileSync(join(jobs, "inner", "job.json"), JSON.stringify(newJob("inner", "2024-03-02T09:00:00Z")));
  symlinkSync(outside, join(jobs, "linked"));
  symlinkSync(join(outside, "photos"), join(jobs, "inner", "photos"));
  mkdirSync(join(jobs, "third", "photos"), { recursive: true });
  writeFileSync(join(jobs, "third", "job.json"), JSON.stringify(newJob("third", "2024-03-02T09:00:00Z")));
  expect((await fetch(`${server.url}api/jobs/third`)).status).toBe(200);
  symlinkSync(
    join(outside, "photos", `${"a".repeat(16)}.png`),
    join(jobs, "third", "photos", `${"b".repeat(16)}.png`),
  );
  for (const path of [
    "linked",
    `linked/photos/${"a".repeat(16)}.png`,
    `inner/photos/${"a".repeat(16)}.png`,
    `third/photos/${"b".repeat(16)}.png`,
  ]) {
    expect((await fetch(`${server.url}api/jobs/${path}`)).status, path).toBe(404);
  }
});

test.skipIf(process.platform === "win32")("a pipe in the folder holds nobody up", async () => {
  expect(spawnSync("mkfifo", [join(own, "pipe.ndjson")]).status).toBe(0);
  expect((await fetch(`${server.url}api/recordings`)).status).toBe(200);
  expect((await fetch(`${server.url}api/recordings/pipe.ndjson`)).status).toBe(404);
});

test.each([
  "//",
  "///x",
  "/\\\\evil.example/",
  "/%",
  "/%00",
  "*",
  "http://evil.example/",
  "/api/recordings/%",
])("an address such as %j is answered and harms nothing", async (path) => {
  expect(await rawStatus(path, [`Host: localhost:${port}`])).toMatch(/^HTTP\/1\.1 [45]\d\d/);
  expect((await fetch(`${server.url}api/recordings`)).status).toBe(200);
});

test("a browser that says another site asks is refused, but for opening the page", async () => {
  const from = async (site: string, mode: string, path = "/api/recordings"): Promise<number> => {
    const said = ["Sec-Fetch-Dest: document", `Sec-Fetch-Site: ${site}`, `Sec-Fetch-Mode: ${mode}`];
    return Number((await rawStatus(path, [`Host: localhost:${port}`, ...said])).split(" ")[1]);
  };
  expect(await from("cross-site", "cors")).toBe(403);
  expect(await from("same-site", "no-cors")).toBe(403);
  expect(await from("cross-site", "navigate")).toBe(403);
  expect(await from("cross-site", "navigate", "/")).not.toBe(403);
  expect(await from("same-origin", "cors")).toBe(200);
  expect(await from("none", "navigate")).toBe(200);
});

test("a page that floods is told, and cut off when it does not stop", async () => {
  const page = await BarePage.open(server.url);
  const closed = page.closed();
  for (let i = 0; i < 300; i++) page.send(JSON.stringify({ type: "ports", id: i }));
  await page.until(() => page.messages.some((m) => m.type === "failed" && m.failure.code === "too-much"));
  for (let i = 0; i < 3000; i++) page.send("{}");
  await closed;
  expect((await fetch(`${server.url}api/recordings`)).status).toBe(200);
});

test("a machine so slow that one of five is taken meanwhile cuts off a page that floods, too", async () => {
  let now = 0;
  const clock = { ...realClock, now: () => (now += 5) };
  const slow = await startServer({ ...withoutPage(join(folder.path, "slow")), clock });
  const page = await BarePage.open(slow.url);
  let cutOff = false;
  const closed = page.closed().then(() => (cutOff = true));
  for (let sent = 0; !cutOff; sent += 10) {
    expect(sent).toBeLessThan(5000);
    const before = page.messages.length;
    for (let i = 0; i < 10; i++) page.send("{}");
    await Promise.race([closed, page.until(() => page.messages.length >= before + 10)]);
  }
  await slow.close();
});

test("a message that is too long ends that page, and nothing else", async () => {
  const [page, other] = [await BarePage.open(server.url), await BarePage.open(server.url)];
  const closed = page.closed();
  page.send("x".repeat(100_000));
  await closed;
  expect(await other.ask({ type: "ports" })).toMatchObject({ type: "done" });
  other.close();
});

test("no more than so many pages at once", async () => {
  const pages: BarePage[] = [];
  const openAll = async (): Promise<never> => {
    for (;;) pages.push(await BarePage.open(server.url));
  };
  await expect(openAll()).rejects.toThrow("503");
  expect(pages.length).toBeGreaterThan(5);
  expect(pages.length).toBeLessThan(30);
  for (const page of pages) page.close();
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

test("the page is put anew while the program runs: what is gone is not there, what is new is, and all goes on", async () => {
  const pageFolder = join(folder.path, "page");
  mkdirSync(pageFolder);
  writeFileSync(join(pageFolder, "index.html"), "before");
  writeFileSync(join(pageFolder, "old.js"), "1");
  const served = await startServer({ ...withoutPage(folder.path), pageFolder });
  const look = async (path: string): Promise<readonly [number, string]> => {
    const answer = await fetch(served.url + path);
    return [answer.status, await answer.text()];
  };
  expect([await look(""), await look("old.js")]).toEqual([
    [200, "before"],
    [200, "1"],
  ]);
  rmSync(join(pageFolder, "old.js"));
  writeFileSync(join(pageFolder, "new.js"), "2");
  writeFileSync(join(pageFolder, "index.html"), "after it, and longer");
  expect((await look("old.js"))[0]).toBe(404);
  expect([await look("new.js"), await look("")]).toEqual([
    [200, "2"],
    [200, "after it, and longer"],
  ]);
  expect((await fetch(`${served.url}..%2fsecret.ndjson`)).status).toBe(404);
  await served.close();
});

test("a recording is sent from the byte that was asked for", async () => {
  const whole = await (await fetch(`${server.url}api/recordings/one.ndjson`)).text();
  expect(whole).toBe(header);
  const rest = await fetch(`${server.url}api/recordings/one.ndjson?from=10`);
  expect(rest.headers.get("content-length")).toBe(String(Buffer.byteLength(header) - 10));
  expect(await rest.text()).toBe(header.slice(10));
  expect(await (await fetch(`${server.url}api/recordings/one.ndjson?from=100000`)).text()).toBe("");
  expect((await fetch(`${server.url}api/recordings/one.ndjson?from=-1`)).status).toBe(400);
});

test("a sample that ships with the program is told from a recording of one's own, which goes before it", () => {
  const of = (file: string): boolean => recordingPath({ own, bundled: folder.path }, file).bundled;
  expect([of("one.ndjson"), of("secret.ndjson")]).toEqual([false, true]);
});
