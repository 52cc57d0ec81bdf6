/** Clearing codes by way of a page: what must be first, and that it is sent once. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage as Page } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { idlingModule, tcpPeer, type TcpPeer } from "../support/tcpPeer.ts";

/** Key on, engine stopped. */
const faulty = {
  ...idlingModule,
  replies: {
    ...idlingModule.replies,
    "010C": "410C0000",
    "0101": "410182076500",
    "03": "43010335",
    "07": "4700",
    "020200": "4202000335",
    "04": "44",
  },
};
const words = "erase P0335, the freeze frame, readiness";

let folder: ReturnType<typeof tempFolder>;
let adapter: TcpPeer;
let server: RunningServer;
let page: Page;

beforeEach(async () => {
  folder = tempFolder();
  adapter = await tcpPeer({ modules: [faulty], restartMs: 5 });
  server = await startServer(withoutPage(folder.path));
  page = await Page.open(server.url);
});

afterEach(async () => {
  page.close();
  await server.close();
  await adapter.close();
  folder.remove();
});

const sent = (): number => adapter.peer.received.filter((command) => command.startsWith("04")).length;

test("a survey first, then the words: sent once, and recorded with its answer", async () => {
  expect(await page.ask({ type: "clear", typed: words })).toMatchObject({ failure: { code: "wrong-use" } });
  await page.ask({ type: "connect", address: adapter.address, facts: {} });
  const file = page.status?.recording?.file ?? "";
  expect(await page.ask({ type: "clear", typed: words })).toMatchObject({
    failure: { code: "clear-refused" },
  });
  expect(await page.ask({ type: "survey" })).toMatchObject({ type: "done" });
  expect(await page.ask({ type: "clear", typed: "yes" })).toMatchObject({
    failure: { code: "clear-refused" },
  });
  expect(sent()).toBe(0);
  expect(await page.ask({ type: "clear", typed: words })).toMatchObject({ type: "done" });
  expect(await page.ask({ type: "clear", typed: words })).toMatchObject({
    failure: { code: "clear-refused" },
  });
  expect(sent()).toBe(1);
  await page.ask({ type: "disconnect" });
  const text = readFileSync(join(folder.path, file), "utf8");
  expect(text).toContain(`in these words: ${words}`);
  expect(text.split("\n").filter((line) => line.includes('"ask":"04"'))).toHaveLength(1);
  expect(sent()).toBe(1);
}, 180_000);

test("a survey in one recording does not clear in the next", async () => {
  await page.ask({ type: "connect", address: adapter.address, facts: {} });
  await page.ask({ type: "survey" });
  await page.ask({ type: "stop" });
  expect(await page.ask({ type: "clear", typed: words })).toMatchObject({ failure: { code: "wrong-use" } });
  await page.ask({ type: "start", facts: {} });
  expect(await page.ask({ type: "clear", typed: words })).toMatchObject({
    failure: { code: "clear-refused" },
  });
  expect(sent()).toBe(0);
}, 180_000);
