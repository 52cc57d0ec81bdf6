/** The desk as a page meets it: over a real WebSocket, with the bench vehicle behind it. */
import { readFileSync } from "node:fs";
import { createServer, type AddressInfo } from "node:net";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { Reading } from "../../src/reading/index.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage as Page } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";

let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;
let page: Page;

beforeEach(async () => {
  folder = tempFolder();
  server = await startServer(withoutPage(folder.path));
  page = await Page.open(server.url);
});

afterEach(async () => {
  page.close();
  await server.close();
  folder.remove();
});

const bench = {
  type: "connect",
  address: "bench:garden-van",
  facts: { complaint: "does not fire" },
} as const;

test("what the page is sent is what is in the file, byte for byte", async () => {
  expect(await page.ask(bench)).toMatchObject({ type: "done" });
  const file = page.status?.recording?.file ?? "";
  expect(file).toMatch(/\.ndjson$/);
  await page.until(() => page.lines(file).text.split("\n").length > 30);
  const mark = { id: "m1", at: 500, label: "fuel added at the intake" };
  expect(await page.ask({ type: "mark", recording: null, mark })).toMatchObject({ type: "done" });
  expect(await page.ask({ type: "stop" })).toMatchObject({ type: "done" });
  expect(page.status).toMatchObject({ link: "paused", recording: null });

  const path = join(folder.path, file);
  const bytes = readFileSync(path);
  const { from, text } = page.lines(file);
  expect(text).toBe(bytes.subarray(from).toString("utf8"));
  expect((await verifyRecording(path)).state).toBe("whole");
  const reading = new Reading(path);
  reading.push(bytes.toString("utf8"));
  reading.finish();
  expect(reading.marks).toMatchObject([mark]);
  expect(reading.facts.complaint).toBe("does not fire");
  expect(reading.invented).toBe(true);
}, 180_000);

test("after a stop the same link records again into a file of its own that stands alone", async () => {
  await page.ask(bench);
  const first = page.status?.recording?.file ?? "";
  await page.ask({ type: "stop" });
  expect(await page.ask({ type: "start", facts: {} })).toMatchObject({ type: "done" });
  await page.until(() => (page.status?.recording ?? null) !== null);
  const second = page.status?.recording?.file ?? "";
  expect(second).not.toBe(first);
  await page.until(() => page.lines(second).text.includes("410C"));
  await page.ask({ type: "disconnect" });
  const reading = new Reading(second);
  reading.push(readFileSync(join(folder.path, second), "utf8"));
  reading.finish();
  expect(reading.header?.protocol).toBe("can11-500");
  expect(reading.modules.size).toBe(2);
  expect(reading.channels.find("engine-speed")).toBeDefined();
}, 180_000);

test("a mark is added to a finished recording without changing a byte of it", async () => {
  await page.ask(bench);
  const file = page.status?.recording?.file ?? "";
  await page.ask({ type: "disconnect" });
  const before = readFileSync(join(folder.path, file));
  const mark = { id: "later", at: 100, label: "seen afterwards" };
  expect(await page.ask({ type: "mark", recording: file, mark })).toMatchObject({ type: "done" });
  const after = readFileSync(join(folder.path, file));
  expect(after.subarray(0, before.length).equals(before)).toBe(true);
  expect((await verifyRecording(join(folder.path, file))).state).toBe("whole");
}, 180_000);

test("the bench vehicle answers to the key from the page", async () => {
  await page.ask(bench);
  const file = page.status?.recording?.file ?? "";
  await page.ask({ type: "bench", act: { act: "key", to: "crank" } });
  const reading = new Reading(file);
  let read = 0;
  await page.until(() => {
    const { text } = page.lines(file);
    reading.push(page.lines(file).from === 0 || read > 0 ? text.slice(read) : header(text));
    read = text.length;
    return (reading.channels.find("engine-speed")?.values.at(-1) ?? 0) > 100;
  });
  expect(page.status?.bench).toMatchObject({ key: "crank" });
}, 180_000);

/** Lines that begin after the header still need one to be read. */
function header(text: string): string {
  return `{"format":"crankside-recording","version":1,"started":"2026-01-05T08:00:00Z","from":"test"}\n${text}`;
}

test.each([
  ["an address that is none", { ...bench, address: "somewhere" }, "wrong-address"],
  ["a vehicle that does not exist", { ...bench, address: "bench:limousine" }, "bench-unknown"],
  ["a port that does not exist", { ...bench, address: "serial:/dev/there-is-none" }, "port-missing"],
  ["nobody at the address", { ...bench, address: "tcp:127.0.0.1:1" }, "link-failed"],
  [
    "a mark without a recording",
    { type: "mark", recording: null, mark: { id: "a", at: 0, label: "" } },
    "wrong-use",
  ],
  ["a recording outside the folder", { type: "facts", recording: "../x.ndjson", facts: {} }, "file-missing"],
  ["bench acts without a bench", { type: "bench", act: { act: "pedal", to: 1 } }, "wrong-use"],
] as const)("%s is refused with its code", async (_name, request, code) => {
  expect(await page.ask(request)).toMatchObject({ type: "failed", failure: { code } });
});

test("what is no message of ours is answered, and harms nothing", async () => {
  for (const text of [
    "",
    "{}",
    "[1]",
    '{"type":"erase","id":4}',
    '{"type":"connect","id":"x"}',
    "\u0000".repeat(100),
  ]) {
    const before = page.messages.length;
    page.send(text);
    await page.until(() => page.messages.length > before);
    expect(page.messages.at(-1)).toMatchObject({ type: "failed", failure: { code: "message-invalid" } });
  }
  expect(await page.ask({ type: "ports" })).toMatchObject({ type: "done" });
});

test("giving up while connecting does not wait for the search to end", async () => {
  const mute = createServer((socket) => socket.on("data", () => undefined));
  await new Promise<void>((resolve) => mute.listen(0, "127.0.0.1", resolve));
  const { port } = mute.address() as AddressInfo;
  const connecting = page.ask({ type: "connect", address: `tcp:127.0.0.1:${port}`, facts: {} });
  await page.until(() => page.status?.link === "connecting");
  expect(await page.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
  expect(await connecting).toMatchObject({ type: "failed", failure: { code: "link-closed" } });
  expect(page.status).toMatchObject({ link: "none", address: null });
  mute.close();
});
