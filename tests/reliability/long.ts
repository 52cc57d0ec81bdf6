/** Hours on the bench vehicle through the whole stack, on a virtual clock: adapter, session, file, socket, page. */
import { EventEmitter } from "node:events";
import { statSync } from "node:fs";
import { join } from "node:path";
import { queryObjects, setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import type { Browser, Page } from "playwright-core";
import { WebSocket } from "ws";
import { VirtualClock } from "../../adapters/link/index.ts";
import { readLiveFrame } from "../../shared/liveFrame.ts";
import { readMessage, serverMessageSchema, type PageRequest, type Status } from "../../shared/messages.ts";
import { parameterByPid } from "../../shared/parameters.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { startServer } from "../../src/server/index.ts";
import { launchBrowser } from "../support/browser.ts";
import { tempFolder } from "../support/program.ts";

export interface Hour {
  /** Of the vehicle's time. */
  readonly minutes: number;
  readonly readings: number;
  /** What the readings themselves take up in a page, a time and a value each. */
  readonly samplesMb: number;
  readonly fileMb: number;
  /** After a collection: the server's heap with its buffers, and the memory that the system gave it. */
  readonly serverHeapMb: number;
  readonly serverRssMb: number;
  /** What the process holds open, objects that can be listened to, and timers of the desk's clock. */
  readonly handles: number;
  readonly emitters: number;
  readonly timers: number;
  readonly page: PageHour | null;
}

export interface PageHour {
  /** After a collection: objects, and the arrays and buffers beside them. */
  readonly heapMb: number;
  readonly buffersMb: number;
  readonly listeners: number;
  readonly nodes: number;
  /** Timers that are set and have not rung. */
  readonly timers: number;
}

export interface LongOptions {
  /** A bench vehicle's name. */
  readonly vehicle: string;
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

/** A time and a value in double precision. */
const sampleBytes = 16;
/** The page is looked at after so many minutes of the vehicle: it draws on its own time, beside the server. */
const lookMinutes = 5;

/** Readings that come of an exchange: the voltage, or the values of each parameter that was asked for. */
function readingsOf(ask: string): number {
  if (ask === "ATRV") return 1;
  if (!ask.startsWith("01")) return 0;
  let count = 0;
  for (let at = 2; at + 1 < ask.length; at += 2)
    count += parameterByPid.get(Number.parseInt(ask.slice(at, at + 2), 16))?.values.length ?? 0;
  return count;
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
  /** Of the recording's own time, milliseconds. */
  time = 0;

  constructor(url: string) {
    this.#ws = new WebSocket(`${url.replace("http", "ws")}ws`, { origin: url.slice(0, -1) });
    this.#ws.on("message", (data: Buffer, isBinary) => {
      if (isBinary) this.#lines(Buffer.from(readLiveFrame(new Uint8Array(data)).bytes).toString("utf8"));
      else this.#take(data.toString("utf8"));
    });
  }

  #take(text: string): void {
    const message = readMessage(serverMessageSchema, text);
    if (message.type === "status") this.status = message.status;
    if (message.type === "failed") this.#last = message.failure.message;
    if (message.type === "done" || message.type === "failed") this.#answered.add(message.id);
  }

  #lines(text: string): void {
    for (const line of text.split("\n")) {
      if (line === "") continue;
      const event = JSON.parse(line) as {
        k?: string;
        t?: number;
        ask?: string;
        state?: string;
        why?: string;
      };
      this.time = event.t ?? this.time;
      if (this.time < 0) this.negative += 1;
      if (event.k === "link" && event.state === "lost") this.lost.push(event.why ?? "");
      if (event.k === "x") this.readings += readingsOf(event.ask ?? "");
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
    await onlooker.ask(clock, { type: "connect", id: 1, address: `bench:${options.vehicle}`, facts: {} });
    await onlooker.ask(clock, { type: "bench", id: 2, act: { act: "key", to: "crank" } });
    await clock.pass(4000);
    const page = browser === null ? null : await openCounting(browser, server.url);
    const steps = (options.hours * 60) / options.stepMinutes;
    for (let step = 1; step <= steps; step++) {
      if (step === Math.ceil(steps / 2)) clock.sleep(600_000);
      for (let minute = 1; minute <= options.stepMinutes; minute++) {
        await clock.pass(60_000);
        if (page !== null && minute % lookMinutes === 0) await drawn(page, onlooker);
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

/**
 * The page with its timers counted from the beginning, and a frame a second only: hours pass in minutes here, and drawing
 * without a graphics card would take most of them.
 */
async function openCounting(browser: Browser, url: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 800, height: 450 } });
  await page.addInitScript(`
    const frame = window.requestAnimationFrame, later = window.setTimeout;
    window.requestAnimationFrame = (callback) => later(() => frame(callback), 1000);
    const set = window.setTimeout, clear = window.clearTimeout;
    const waiting = window.timersWaiting = new Set();
    window.setTimeout = (callback, ...rest) => {
      const id = set((...args) => { waiting.delete(id); callback(...args); }, ...rest);
      waiting.add(id);
      return id;
    };
    window.clearTimeout = (id) => { waiting.delete(id); clear(id); };
    const every = window.setInterval, end = window.clearInterval;
    window.setInterval = (...args) => { const id = every(...args); waiting.add(id); return id; };
    window.clearInterval = (id) => { waiting.delete(id); end(id); };
  `);
  await page.goto(url);
  return page;
}

/** Waits until the page shows the time that the recording has reached. */
async function drawn(page: Page, onlooker: Onlooker): Promise<void> {
  const wanted = Math.floor(onlooker.time / 1000);
  for (let tries = 0; tries < 1200; tries++) {
    const text = await page.locator(".now").first().innerText();
    const parts = (/\d+(?::\d\d)+/.exec(text)?.[0] ?? "0").split(":").map(Number);
    if (parts.reduce((sum, part) => sum * 60 + part, 0) >= wanted) return;
    await page.waitForTimeout(250);
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
  const { heapUsed, external, rss } = process.memoryUsage();
  const file = onlooker.status?.recording?.file ?? "";
  return {
    minutes,
    readings: onlooker.readings,
    samplesMb: (onlooker.readings * sampleBytes) / 1e6,
    fileMb: statSync(join(folder, file)).size / 1e6,
    serverHeapMb: (heapUsed + external) / 1e6,
    serverRssMb: rss / 1e6,
    handles: process.getActiveResourcesInfo().filter((name) => name !== "Immediate").length,
    emitters: queryObjects(EventEmitter, { format: "count" }),
    timers: clock.pending,
    page: page === null ? null : await measuredPage(page),
  };
}

async function measuredPage(page: Page): Promise<PageHour> {
  const session = await page.context().newCDPSession(page);
  // Compiled code that is not run any more goes only after some collections.
  for (let i = 0; i < 4; i++) await session.send("HeapProfiler.collectGarbage");
  const usage = await session.send("Runtime.getHeapUsage");
  const { jsEventListeners, nodes } = await session.send("Memory.getDOMCounters");
  await session.detach();
  return {
    heapMb: usage.usedSize / 1e6,
    buffersMb: usage.backingStorageSize / 1e6,
    listeners: jsEventListeners,
    nodes,
    timers: await page.evaluate<number>("timersWaiting.size"),
  };
}
