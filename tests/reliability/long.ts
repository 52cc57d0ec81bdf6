/** Hours on the bench vehicle through the whole stack, on a virtual clock: adapter, session, file, socket, page. */
import { statSync } from "node:fs";
import { join } from "node:path";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import type { Page } from "playwright-core";
import { WebSocket } from "ws";
import { VirtualClock } from "../../adapters/link/index.ts";
import { readMessage, serverMessageSchema, type PageRequest, type Status } from "../../shared/messages.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { startServer } from "../../src/server/index.ts";
import { launchBrowser } from "../support/browser.ts";
import { tempFolder } from "../support/program.ts";

export interface Hour {
  /** Of the vehicle's time. */
  readonly minutes: number;
  readonly readings: number;
  readonly fileMb: number;
  /** After a collection: the server's heap and the memory that the system gave it; the page's heap. */
  readonly serverHeapMb: number;
  readonly serverRssMb: number;
  readonly pageHeapMb: number | null;
  /** What the process holds open, and timers of the desk's clock. */
  readonly handles: number;
  readonly timers: number;
}

export interface LongOptions {
  readonly hours: number;
  readonly stepMinutes: number;
  /** The built page in Chromium looks on; else a socket that throws away what it gets. */
  readonly browser: boolean;
  /** Where the built page is. */
  readonly pageFolder: string;
  readonly onStep: (hour: Hour) => void;
}

export interface LongResult {
  readonly state: string;
  /** Gaps that the recording tells of: there was one sleep of ten minutes. */
  readonly gaps: readonly string[];
  readonly negativeTimes: number;
  readonly link: string;
}

function collect(): void {
  setFlagsFromString("--expose-gc");
  (runInNewContext("gc") as () => void)();
}

/** A page that keeps nothing but the last state, and counts. */
class Onlooker {
  status: Status | null = null;
  readings = 0;
  lost: string[] = [];
  negative = 0;
  readonly #ws: WebSocket;
  readonly #answered = new Set<number>();
  #last = "";

  constructor(url: string) {
    this.#ws = new WebSocket(`${url.replace("http", "ws")}ws`, { origin: url.slice(0, -1) });
    this.#ws.on("message", (data: Buffer) => this.#take(data.toString("utf8")));
  }

  #take(text: string): void {
    const message = readMessage(serverMessageSchema, text);
    if (message.type === "status") this.status = message.status;
    if (message.type === "failed") this.#last = message.failure.message;
    if (message.type === "done" || message.type === "failed") this.#answered.add(message.id);
    if (message.type !== "lines") return;
    for (const line of message.text.split("\n")) {
      if (line === "") continue;
      const event = JSON.parse(line) as {
        k?: string;
        t?: number;
        ask?: string;
        state?: string;
        why?: string;
      };
      if ((event.t ?? 0) < 0) this.negative += 1;
      if (event.k === "link" && event.state === "lost") this.lost.push(event.why ?? "");
      if (event.k !== "x") continue;
      if (event.ask === "ATRV") this.readings += 1;
      else if (event.ask?.startsWith("01") === true) this.readings += Math.floor((event.ask.length - 2) / 2);
    }
  }

  async ask(clock: VirtualClock, request: PageRequest): Promise<void> {
    await clock.run(() => this.#ws.readyState === this.#ws.OPEN, 3_600_000);
    this.#ws.send(JSON.stringify(request));
    while (!this.#answered.has(request.id)) await clock.pass(5);
    if (this.#last !== "") throw new Error(this.#last);
  }

  close(): void {
    this.#ws.terminate();
  }
}

export async function longRun(options: LongOptions): Promise<LongResult> {
  const folder = tempFolder();
  const clock = new VirtualClock(Date.UTC(2024, 2, 2));
  const server = await startServer({
    ...{ port: 0, folders: { own: folder.path, bundled: null }, pageFolder: options.pageFolder },
    ...{ clock, writer: "measure" },
  });
  const onlooker = new Onlooker(server.url);
  const browser = options.browser ? await launchBrowser() : null;
  try {
    await onlooker.ask(clock, { type: "connect", id: 1, address: "bench:garden-van", facts: {} });
    await onlooker.ask(clock, { type: "bench", id: 2, act: { act: "key", to: "crank" } });
    await clock.pass(4000);
    const page = browser === null ? null : await browser.newPage();
    await page?.goto(server.url);
    const steps = (options.hours * 60) / options.stepMinutes;
    for (let step = 1; step <= steps; step++) {
      if (step === Math.ceil(steps / 2)) clock.sleep(600_000);
      for (let minute = 0; minute < options.stepMinutes; minute++) {
        await clock.pass(60_000);
        if (page !== null) await drawn(page, clock);
      }
      options.onStep(
        await measured(step * options.stepMinutes, { onlooker, page, clock, folder: folder.path }),
      );
    }
    const link = onlooker.status?.link ?? "";
    const file = onlooker.status?.recording?.file ?? "";
    await onlooker.ask(clock, { type: "disconnect", id: 3 });
    const { state } = await verifyRecording(join(folder.path, file));
    return { state, gaps: onlooker.lost, negativeTimes: onlooker.negative, link };
  } finally {
    await browser?.close();
    onlooker.close();
    await server.close();
    folder.remove();
  }
}

/** Waits until the page shows the time that the recording has reached. */
async function drawn(page: Page, clock: VirtualClock): Promise<void> {
  const wanted = Math.floor(clock.now() / 1000) - 5;
  for (let tries = 0; tries < 2400; tries++) {
    const text = await page.locator(".now").first().innerText();
    const parts = (/\d+(?::\d\d)+/.exec(text)?.[0] ?? "0").split(":").map(Number);
    if (parts.reduce((sum, part) => sum * 60 + part, 0) >= wanted) return;
    await page.waitForTimeout(50);
  }
  throw new Error(`the page does not come to ${wanted} s`);
}

interface Measured {
  readonly onlooker: Onlooker;
  readonly page: Page | null;
  readonly clock: VirtualClock;
  readonly folder: string;
}

async function measured(minutes: number, { onlooker, page, clock, folder }: Measured): Promise<Hour> {
  collect();
  const { heapUsed, rss } = process.memoryUsage();
  let pageHeapMb: number | null = null;
  if (page !== null) {
    const session = await page.context().newCDPSession(page);
    await session.send("HeapProfiler.collectGarbage");
    const { usedSize } = await session.send("Runtime.getHeapUsage");
    pageHeapMb = usedSize / 1e6;
    await session.detach();
  }
  const file = onlooker.status?.recording?.file ?? "";
  return {
    minutes,
    readings: onlooker.readings,
    fileMb: statSync(join(folder, file)).size / 1e6,
    serverHeapMb: heapUsed / 1e6,
    serverRssMb: rss / 1e6,
    pageHeapMb,
    handles: process.getActiveResourcesInfo().filter((name) => name !== "Immediate").length,
    timers: clock.pending,
  };
}
