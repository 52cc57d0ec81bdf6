/** From the server's doors to the adapter's socket: what a page can make leave, and what it cannot. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, expect, test } from "vitest";
import { realClock } from "../../adapters/link/index.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { BarePage as Page, type Unnumbered } from "../support/barePage.ts";
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
  server = await startServer({
    port: 0,
    pageFolder: join(folder.path, "no-page"),
    folders: { own: folder.path, bundled: null },
    clock: realClock,
    writer: "test",
  });
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
}, 30_000);

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
}, 30_000);

/** Independent of the program's own patterns: what the adapter may ever have been sent. */
function mayLeave(command: string): boolean {
  if (/^AT(Z|WS|I|E0|L0|S0|H1|AT[012]|CAF1|PC|RV|DPN|SP\d|ST[0-9A-F]{2})$/.test(command)) return true;
  return /^0[1235679A][0-9A-F]*$/.test(command);
}

test("whatever comes in at the door, nothing but readings leaves", async () => {
  const { address } = adapter;
  const hostile = fc.constantFrom("04", "\r04\r", "engine-speed\r04", "2E1101", "ATSH7E0", "load", "");
  const typed = fc.oneof(hostile, fc.string({ maxLength: 60 }), fc.constant("erase P0335"));
  const request: fc.Arbitrary<Unnumbered> = fc.oneof(
    fc.record({ type: fc.constant("clear" as const), typed }),
    fc.constant({ type: "survey" } as const),
    fc.record({ type: fc.constant("arm" as const), on: fc.boolean() }),
    fc.record({ type: fc.constant("channels" as const), channels: fc.array(hostile, { maxLength: 4 }) }),
    fc.constant({ type: "stop" } as const),
    fc.constant({ type: "start", facts: { complaint: "04" } } as const),
    fc.constant({ type: "connect", address, facts: {} } as const),
    fc.record({
      type: fc.constant("mark" as const),
      recording: fc.constant(null),
      mark: fc.record({ id: fc.constant("m"), at: fc.nat(9), label: hostile }),
    }),
  );
  await page.ask({ type: "connect", address, facts: {} });
  await fc.assert(
    fc.asyncProperty(fc.array(request, { maxLength: 6 }), fc.string(), async (requests, noise) => {
      page.send(noise);
      page.send(JSON.stringify({ type: "clear", id: 1, typed: words, force: true }));
      await Promise.all(requests.map((r) => page.ask(r)));
      expect(sent()).toBe(0);
    }),
    { numRuns: 12 },
  );
  const { received } = adapter.peer;
  expect(received.length).toBeGreaterThan(50);
  // What is left of a call for the prompt that interrupted something is a command to nobody.
  expect(received.filter((command) => command !== "TRV" && !mayLeave(command))).toEqual([]);
}, 120_000);
