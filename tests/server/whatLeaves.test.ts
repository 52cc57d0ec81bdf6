/** From the doors to the adapter: whatever comes in by WebSocket or HTTP, nothing but the listed readings leaves. */
import fc from "fast-check";
import { afterAll, beforeAll, expect, test } from "vitest";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import { openSerial, pacedClock, realClock, serialPair } from "../../adapters/link/index.ts";
import type { PageRequest } from "../../shared/messages.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage, type Unnumbered } from "../support/barePage.ts";
import { crankCounter } from "../support/defined.ts";
import { forbiddenIn, hostile } from "../support/mayLeave.ts";
import { tempFolder } from "../support/program.ts";
import { idlingModule, tcpPeer, type TcpPeer } from "../support/tcpPeer.ts";
import { socat } from "../support/tools.ts";

const defined = [
  crankCounter,
  { ...crankCounter, channel: "crank-alone", module: "7E8", alone: true as const },
];
const reads = ["221101"];

let folder: ReturnType<typeof tempFolder>;
let adapter: TcpPeer;
let server: RunningServer;

beforeAll(async () => {
  folder = tempFolder();
  const replies = { ...idlingModule.replies, "221101": "6211010005", "03": "43010335", "04": "44" };
  adapter = await tcpPeer({ modules: [{ ...idlingModule, replies }], restartMs: 5 });
  server = await startServer({
    ...withoutPage(folder.path),
    defined,
  });
});

afterAll(async () => {
  await server.close();
  await adapter.close();
  folder.remove();
});

const odd = fc.oneof(fc.constantFrom(...hostile), fc.string({ maxLength: 40 }));
const channel = fc.oneof(odd, fc.constantFrom("engine-speed", "coolant", "crank-signal", "load"));

/** One of each kind of request that a page can make, so that a new kind is missed here by the compiler. */
function requests(
  address: string,
): Readonly<Record<PageRequest["type"], fc.Arbitrary<Unnumbered & { readonly type: string }>>> {
  const facts = odd.map((complaint) => ({ complaint }));
  const is = <T extends PageRequest["type"]>(type: T) => fc.constant(type);
  const where = fc.oneof(
    fc.constant(address),
    odd.map((tail) => `${address}${tail}`),
    odd,
  );
  const mark = fc.record({ id: fc.constant("m"), at: fc.nat(9), label: odd });
  const list = fc.array(channel, { maxLength: 4 });
  const act = fc.record({ act: fc.constant("fault" as const), name: odd, severity: fc.constant(1) });
  return {
    ports: fc.record({ type: is("ports") }),
    connect: fc.record({ type: is("connect"), address: where, facts }),
    disconnect: fc.record({ type: is("disconnect") }),
    stop: fc.record({ type: is("stop") }),
    start: fc.record({ type: is("start"), facts }),
    channels: fc.record({ type: is("channels"), channels: list, pinned: list }),
    mark: fc.record({ type: is("mark"), recording: fc.oneof(fc.constant(null), odd), mark }),
    facts: fc.record({ type: is("facts"), recording: fc.oneof(fc.constant(null), odd), facts }),
    bench: fc.record({ type: is("bench"), act }),
    measure: fc.record({
      type: is("measure"),
      check: odd,
      cylinder: fc.oneof(fc.constant(null), fc.integer({ min: 1, max: 16 })),
    }),
    reveal: fc.record({ type: is("reveal") }),
    arm: fc.record({ type: is("arm"), on: fc.boolean() }),
    survey: fc.record({ type: is("survey") }),
    clear: fc.record({ type: is("clear"), typed: odd }),
    move: fc.record({ type: is("move") }),
    take: fc.record({ type: is("take") }),
    job: fc.record({ type: is("job"), job: fc.oneof(fc.constant(null), odd) }),
    "close-lan": fc.record({ type: is("close-lan") }),
    "guests-enter": fc.record({ type: is("guests-enter"), on: fc.boolean() }),
  };
}

/** What is no request at all, or one with something beside it. */
const noise = fc.oneof(
  odd,
  fc.json({ maxDepth: 2 }),
  fc
    .record({
      type: fc.constantFrom("send", "ask", "clear", "raw"),
      id: fc.nat(9),
      command: odd,
      force: fc.boolean(),
    })
    .map((m) => JSON.stringify(m)),
  fc
    .record({ type: fc.constant("clear"), id: fc.nat(9), typed: odd, consent: fc.constant(true) })
    .map((m) => JSON.stringify(m)),
);

const http = fc.record({
  method: fc.constantFrom("GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS"),
  path: fc.oneof(
    fc.constantFrom("api/recordings", "api/jobs", "ws", "api/send?ask=04", "api/clear", "api/ask/04", ""),
    odd.map((text) => `api/recordings/${encodeURIComponent(text)}`),
    odd.map((text) => `api/jobs/${encodeURIComponent(text)}/changes`),
    odd.map((text) => `api/${encodeURIComponent(text)}?typed=${encodeURIComponent(text)}`),
  ),
  body: fc.oneof(
    odd,
    fc.json({ maxDepth: 2 }),
    odd.map((typed) => JSON.stringify({ type: "clear", id: 1, typed })),
  ),
  own: fc.boolean(),
});

async function overHttp({
  method,
  path,
  body,
  own,
}: {
  method: string;
  path: string;
  body: string;
  own: boolean;
}): Promise<number> {
  const origin = own ? server.url.slice(0, -1) : "http://evil.example";
  const without = method === "GET" || method === "HEAD";
  const response = await fetch(`${server.url}${path}`, {
    method,
    headers: { origin },
    ...(without ? {} : { body }),
  });
  await response.arrayBuffer();
  return response.status;
}

test("random requests at the doors, on what the adapter received", async () => {
  const { peer, address } = adapter;
  const kinds = requests(address);
  const request = fc.oneof(...Object.values(kinds));
  const answers = new Map<string, number>();
  const connect = { type: "connect", address, facts: {} } as const;
  await fc.assert(
    fc.asyncProperty(
      fc.array(request, { maxLength: 8 }),
      fc.array(noise, { maxLength: 3 }),
      fc.array(http, { maxLength: 3 }),
      async (asked, noises, visits) => {
        // Two pages, of which one drives; each run begins with a vehicle that is listened to.
        const [page, other] = [await BarePage.open(server.url), await BarePage.open(server.url)];
        await page.ask({ type: "take" });
        await page.ask({ type: "channels", channels: [] });
        if (page.status?.link !== "listening") await page.ask(connect);
        // It is listened to: readings of both kinds are asked for.
        const before = peer.received.length;
        const since = (ask: string): boolean =>
          peer.received.slice(before).some((command) => command.startsWith(ask));
        await page.until(() => page.status?.link !== "listening" || (since("010C") && since("221101")));
        for (const text of noises) page.send(text);
        const statuses = visits.map(overHttp);
        const said = asked.map((one, i) => (i % 3 === 2 ? other : page).ask(one));
        for (const answer of await Promise.all(said)) {
          answers.set(answer.type, (answers.get(answer.type) ?? 0) + 1);
          if (answer.type === "failed") expect(answer.failure.code).not.toBe("server-failed");
        }
        for (const status of await Promise.all(statuses))
          expect([200, 201, 400, 403, 404, 405, 413, 503]).toContain(status);
        page.close();
        other.close();
        expect(forbiddenIn(peer.raw, { reads })).toEqual([]);
      },
    ),
    { numRuns: 40 },
  );
  // It was no empty exercise: requests of every sort were taken and refused.
  expect(answers.get("done")).toBeGreaterThan(20);
  expect(answers.get("failed")).toBeGreaterThan(20);
  expect(peer.received).not.toContain("04");
}, 180_000);

test.skipIf(socat === null)(
  "the same by way of a serial line, while its rate is asked for and changed",
  async () => {
    const clock = pacedClock(realClock);
    const bench = new Bench({ vehicle: "garden-van", clock });
    bench.act({ act: "key", to: "on" });
    const pair = await serialPair();
    const far = await openSerial({ path: pair.a, baud: 38_400 });
    let raw = "";
    let onCommand: () => void = () => undefined;
    const heard = {
      ...{ name: far.name, write: (bytes: Uint8Array) => far.write(bytes), close: () => far.close() },
      onClose: (listener: Parameters<typeof far.onClose>[0]) => far.onClose(listener),
      onBytes: (listener: (bytes: Uint8Array) => void) =>
        far.onBytes((bytes) => {
          raw += String.fromCharCode(...bytes);
          listener(bytes);
          if (bytes.includes(0x0d)) onCommand();
        }),
    };
    attachAdapter(bench, heard, clock, { baud: 38_400 });
    const kinds = requests(`serial:${pair.b}`);
    const page = await BarePage.open(server.url);
    try {
      await page.ask({ type: "take" });
      await page.ask({ type: "disconnect" });
      // What ends the link would end the exercise too.
      const ends = new Set(["connect", "disconnect", "stop", "start"]);
      const others = Object.entries(kinds).flatMap(([type, kind]) => (ends.has(type) ? [] : [kind]));
      const [one] = fc.sample(fc.infiniteStream(fc.oneof(...others)), { numRuns: 1, seed: 7 });
      const waiting: Promise<unknown>[] = [];
      // A request behind each command of the set-up.
      onCommand = () => {
        const next: unknown = one?.next().value;
        if (next !== undefined) waiting.push(page.ask(next as Unnumbered));
      };
      const connected = await page.ask({ type: "connect", address: `serial:${pair.b}`, facts: {} });
      onCommand = () => undefined;
      expect(connected).toMatchObject({ type: "done" });
      await page.until(() => raw.split("\r").filter((command) => command.startsWith("01")).length > 9);
      await Promise.all(waiting);
      expect(waiting.length).toBeGreaterThan(10);
      expect(raw).toMatch(/ATBRD(08|11|23)\r\rATI\r/);
      await page.ask({ type: "disconnect" });
      expect(forbiddenIn(raw, { reads, rate: true })).toEqual([]);
    } finally {
      page.close();
      bench.stop();
      await far.close();
      await pair.close();
    }
  },
  90_000,
);
