/** The live view in a real Chromium: how long from a reading to its pixel, what that costs, what an hour leaves behind. */
import { once } from "node:events";
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { join } from "node:path";
import type { Browser, CDPSession, Page } from "playwright-core";
import sirv from "sirv";
import { WebSocketServer, type WebSocket } from "ws";
import { liveFrame } from "../../shared/liveFrame.ts";
import type { ServerMessage, Status } from "../../shared/messages.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { Analyst } from "../../src/analyst/index.ts";
import { build } from "../support/build.ts";
import { launchBrowser } from "../support/browser.ts";
import { chromium } from "../support/tools.ts";
import { quantile } from "./figures.ts";
import { channels, firstLine, readingLine } from "./longRecording.ts";

const file = "live.ndjson";
const inViewMs = 30 * 60_000;
/** Bytes of a recording that are kept for a page that asks for them; an hour of the usual pace has less. */
const mostKept = 100_000_000;
const wallMs = (): number => performance.timeOrigin + performance.now();
const out = (text: string): void => void process.stdout.write(`  ${text}\n`);

/** Draws one pixel for each message, in the frame after it: what no page can do without. */
const barePage = `<!doctype html><title>bare</title><canvas width="600" height="100"></canvas><script>
  const pen = document.querySelector("canvas").getContext("2d");
  let asked = false, x = 0;
  new WebSocket(new URL("ws", location.href.replace("http", "ws"))).onmessage = ({ data }) => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => { asked = false; pen.clearRect(x, 0, 1, 100); pen.fillRect(x, 40, 1, 20); x = (x + 1) % 600; });
  };
</script>`;

export interface Pace {
  /** From one reading to the next, milliseconds. */
  readonly everyMs: number;
  /** What is there when the page opens, and how long the delays are measured, milliseconds. */
  readonly filledMs: number;
  readonly measuredMs: number;
  /** The reading of this number, where it is none of the usual ones. */
  readonly line?: (i: number, t: number) => string;
}

/** A hundred readings a second. */
export const usualPace: Pace = { everyMs: 10, filledMs: inViewMs, measuredMs: 20_000 };

/** Stands for the program: one recording that grows, and its lines to every page. No vehicle, no disk. */
class GrowingRecording {
  readonly #everyMs: number;
  readonly #line: (i: number, t: number) => string;
  readonly #http: Server;
  readonly #sockets: WebSocketServer;
  readonly #parts: Buffer[] = [];
  /** Wall time at which the lines that begin at this byte were sent. */
  readonly sentAt = new Map<number, number>();
  #bytes = 0;
  #count = 0;

  constructor({ everyMs, line = readingLine }: Pick<Pace, "everyMs" | "line">) {
    this.#everyMs = everyMs;
    this.#line = line;
    const page = sirv(join(import.meta.dirname, "../../dist/page"));
    this.#http = createServer((request, response) => {
      const url = new URL(request.url ?? "/", "http://local");
      if (url.pathname === "/bare.html") response.setHeader("content-type", "text/html").end(barePage);
      else if (url.pathname === `/api/recordings/${file}`)
        response.end(Buffer.concat(this.#parts).subarray(Number(url.searchParams.get("from"))));
      else if (url.pathname.startsWith("/api/"))
        response.setHeader("content-type", "application/json").end("[]");
      else page(request, response);
    });
    this.#sockets = new WebSocketServer({ server: this.#http });
    this.#sockets.on("connection", (socket) => this.#greet(socket));
    this.#keep(firstLine());
  }

  async start(): Promise<string> {
    this.#http.listen(0, "127.0.0.1");
    await once(this.#http, "listening");
    const { port } = this.#http.address() as AddressInfo;
    return `http://127.0.0.1:${port}/`;
  }

  async stop(): Promise<void> {
    for (const socket of this.#sockets.clients) socket.terminate();
    this.#http.closeAllConnections();
    this.#http.close();
    await once(this.#http, "close");
  }

  get count(): number {
    return this.#count;
  }

  /** Readings up to a time of the recording, kept but sent to nobody. */
  fill(untilMs: number): void {
    this.#keep(this.#lines(untilMs));
  }

  /** Readings up to a time of the recording, in one message. */
  send(untilMs: number): void {
    const text = this.#lines(untilMs);
    const from = this.#bytes;
    this.#keep(text);
    this.sentAt.set(from, wallMs());
    const frame = liveFrame(file, from, Buffer.from(text));
    for (const socket of this.#sockets.clients) socket.send(frame);
  }

  /** One message a reading, as fast as time goes; the recording's time goes on from where it stands. */
  async run(forMs: number): Promise<void> {
    const begun = performance.now();
    const first = this.#count;
    while (performance.now() - begun < forMs) {
      const due = first + Math.floor((performance.now() - begun) / this.#everyMs);
      while (this.#count < due) this.send((this.#count + 1) * this.#everyMs);
      await new Promise((resolve) => setTimeout(resolve, 2));
    }
  }

  #lines(untilMs: number): string {
    let text = "";
    while (this.#count * this.#everyMs < untilMs) {
      text += this.#line(this.#count, this.#count * this.#everyMs);
      this.#count += 1;
    }
    return text;
  }

  #keep(text: string): void {
    const bytes = Buffer.from(text);
    // Behind so much every page is there, and asks for nothing that it was sent.
    if (this.#bytes < mostKept) this.#parts.push(bytes);
    this.#bytes += bytes.length;
  }

  #greet(socket: WebSocket): void {
    const recording = { file, started: "2026-01-05T08:00:00Z", bytes: this.#bytes, saved: true };
    const status: Status = {
      link: "listening",
      address: "measure",
      doing: "",
      failure: null,
      adapter: null,
      protocol: "can11-500",
      modules: [],
      recording: { ...recording, failure: null, waiting: 0, lost: 0, spare: null },
      battery: null,
      channels: [...channels],
      focus: null,
      armed: false,
      strength: false,
      bench: null,
    };
    say(socket, { type: "hello", version: "measure", folder: "", bench: [] });
    say(socket, { type: "you", role: "full", holder: null, beside: null });
    say(socket, { type: "status", status });
  }
}

function say(socket: WebSocket, message: ServerMessage): void {
  socket.send(JSON.stringify(message));
}

async function pageOn(browser: Browser, url: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 720 } });
  await page.addInitScript({ path: join(import.meta.dirname, "inPage.js") });
  const kept = JSON.stringify({ lanes: channels.map((c) => [c]), span: inViewMs / 1000 });
  await page.addInitScript(`localStorage.setItem("crankside", ${JSON.stringify(kept)})`);
  await page.goto(url);
  return page;
}

interface Delay {
  readonly ms: number;
  /** A canvas was drawn in its frame; else nothing that is seen had changed. */
  readonly drawn: boolean;
}

/** From sent to painted of each message that was sent within `forMs`. */
async function delays(source: GrowingRecording, page: Page, forMs: number): Promise<Delay[]> {
  await source.run(1000);
  await page.evaluate("measuring.takeLive()");
  await source.run(forMs);
  const rows =
    await page.evaluate<[from: number, came: number, painted: number, drawn: boolean][]>(
      "measuring.takeLive()",
    );
  return rows.flatMap(([from, , painted, drawn]) => {
    const sent = source.sentAt.get(from);
    return sent === undefined ? [] : [{ ms: painted - sent, drawn }];
  });
}

/** Processor time that the page's main thread took so far, and all processes of the browser together, seconds. */
async function busySeconds(cdp: CDPSession, browser: CDPSession): Promise<{ thread: number; all: number }> {
  const { metrics } = await cdp.send("Performance.getMetrics");
  const { processInfo } = await browser.send("SystemInfo.getProcessInfo");
  return {
    thread: metrics.find(({ name }) => name === "TaskDuration")?.value ?? Number.NaN,
    all: processInfo.reduce((sum, { cpuTime }) => sum + cpuTime, 0),
  };
}

export interface LiveDelays {
  /** Sent to painted, 99th percentile, milliseconds; of the page, and of a bare one that draws a pixel. */
  readonly ms: number;
  readonly floorMs: number;
  /** Share of one core that the page's main thread took. */
  readonly thread: number;
}

export async function liveDelays(browser: Browser, pace: Pace): Promise<LiveDelays> {
  const { filledMs, measuredMs } = pace;
  const source = new GrowingRecording(pace);
  const url = await source.start();
  source.fill(filledMs);
  const bare = await pageOn(browser, `${url}bare.html`);
  const floor = await delays(source, bare, measuredMs / 2);
  await bare.close();

  const page = await pageOn(browser, url);
  await page
    .locator('section.chart[aria-busy="false"] .lane canvas')
    .nth(channels.length - 1)
    .waitFor();
  // What thirty minutes show is worked out once behind the first paint.
  await Promise.all([
    page.getByText(/^Within range: /).waitFor({ state: "attached", timeout: 120_000 }),
    source.run(5000),
  ]);
  const cdp = await page.context().newCDPSession(page);
  // Processor time: on a busy machine a task that waits its turn is not counted as work.
  await cdp.send("Performance.enable", { timeDomain: "threadTicks" });
  const whole = await browser.newBrowserCDPSession();
  const [before, begun] = [await busySeconds(cdp, whole), performance.now()];
  const found = await delays(source, page, measuredMs);
  const after = await busySeconds(cdp, whole);
  const wall = (performance.now() - begun) / 1000;
  const share = (seconds: number): string => `${((100 * seconds) / wall).toFixed(1)} %`;
  const two = (list: readonly Delay[]): string => {
    const times = list.map(({ ms }) => ms);
    return `median ${quantile(times, 0.5).toFixed(1)}, 99th percentile ${quantile(times, 0.99).toFixed(1)} ms`;
  };
  const drawn = found.filter((delay) => delay.drawn);
  out(
    `live, 12 lanes, ${perSecond(pace)} readings a second, ${filledMs / 60_000} minutes there: sent to painted, ${found.length} readings: ${two(found)} (held to 25 and 50)`,
  );
  out(
    `  the ${drawn.length} of them in frames that drew a lane anew: ${two(drawn)}; the others lie on pixels that stood`,
  );
  out(`  floor, socket to paint of a bare page, ${floor.length} readings: ${two(floor)}`);
  out(
    `  the page's main thread took ${share(after.thread - before.thread)} of one core for ${wall.toFixed(0)} s (held to 25 %); the whole browser, painting without a graphics processor, ${share(after.all - before.all)}`,
  );
  await page.close();
  await source.stop();
  const late = (list: readonly Delay[]): number =>
    quantile(
      list.map(({ ms }) => ms),
      0.99,
    );
  return { ms: late(found), floorMs: late(floor), thread: (after.thread - before.thread) / wall };
}

const perSecond = ({ everyMs }: Pick<Pace, "everyMs">): string => (1000 / everyMs).toFixed(0);

async function memoryOf(cdp: CDPSession): Promise<number> {
  for (let i = 0; i < 3; i++) await cdp.send("HeapProfiler.collectGarbage");
  // Typed arrays live beside the script's own heap; older browsers leave that figure out.
  const usage: { usedSize: number; backingStorageSize?: number } = await cdp.send("Runtime.getHeapUsage");
  return usage.usedSize + (usage.backingStorageSize ?? Number.NaN);
}

/**
 * Whether the state line tells of a time, seconds, or a later one: it is renewed a few times a second, and goes on by
 * itself behind the last reading, so that its text may skip a second.
 */
const hasComeTo = (seconds: number): string => `(() => {
  const text = /· ((?:\\d+:)?\\d+:\\d\\d) ·/.exec(document.querySelector(".chip.now")?.textContent ?? "")?.[1];
  return text !== undefined && text.split(":").reduce((sum, part) => 60 * sum + Number(part), 0) >= ${Math.floor(seconds)};
})()`;

/** An hour, or what is wanted, sent as fast as the page takes it; bytes a reading in its second half. */
export async function growth(browser: Browser, everyMs: number, forMs = 3_600_000): Promise<number> {
  const source = new GrowingRecording({ everyMs });
  const page = await pageOn(browser, await source.start());
  const cdp = await page.context().newCDPSession(page);
  const marks: { count: number; bytes: number }[] = [];
  const stepMs = forMs / 6;
  const chunkMs = Math.min(2000, stepMs);
  let due = stepMs;
  for (let t = 0; t < forMs; t += chunkMs) {
    source.send(t + chunkMs);
    await page.evaluate("new Promise((resolve) => requestAnimationFrame(resolve))");
    if (t + chunkMs < due - everyMs) continue;
    due += stepMs;
    await page.waitForFunction(hasComeTo((t + chunkMs - everyMs) / 1000));
    marks.push({ count: source.count, bytes: await memoryOf(cdp) });
  }
  const [first, full, last] = [marks[0], marks[2], marks.at(-1)];
  if (first === undefined || full === undefined || last === undefined) return Number.NaN;
  const each = (since: typeof first): number => (last.bytes - since.bytes) / (last.count - since.count);
  out(
    `memory of the page at each sixth of ${forMs / 60_000} minutes of ${perSecond({ everyMs })} readings a second: ${marks.map((m) => (m.bytes / 1e6).toFixed(1)).join(", ")} MB`,
  );
  out(
    `  ${each(full).toFixed(1)} bytes a reading in the second half (held to 16, and a bounded pyramid); ${each(first).toFixed(1)} from the first sixth on`,
  );
  await page.close();
  await source.stop();
  return each(full);
}

/** Key on, engine off, and a battery that is low: the sign needs nothing but readings. */
function lowLine(i: number, t: number): string {
  const [ask, reply] = i % 2 === 0 ? ["010C1", "7E8 04 41 0C 00 00"] : ["ATRV", "11.1V"];
  return eventLine({ k: "x", t, ask, lines: [reply], first: 2, end: 3 });
}

/** From the sending of the last reading that a sign needs to the page that says it, milliseconds; the median of so many. */
export async function signDelay(browser: Browser, runs: number): Promise<number> {
  const everyMs = 20;
  const analyst = new Analyst("measure");
  const encoder = new TextEncoder();
  analyst.push(encoder.encode(firstLine()));
  let needed = 0;
  const said = (): boolean => analyst.findings().signs.some(({ verdict }) => verdict === "outside");
  for (; !said(); needed++) analyst.push(encoder.encode(lowLine(needed, needed * everyMs)));
  const delays: number[] = [];
  for (let run = 0; run < runs; run++) {
    const source = new GrowingRecording({ everyMs, line: lowLine });
    const page = await pageOn(browser, await source.start());
    await page.locator("section.chart").waitFor();
    const seen = page.evaluate<number>(`new Promise((resolve) => {
      const look = () => document.querySelector("article.outside") !== null;
      const tell = () => resolve(performance.timeOrigin + performance.now());
      if (look()) return tell();
      new MutationObserver((_, watch) => { if (look()) { watch.disconnect(); tell(); } }).observe(document, { subtree: true, childList: true, attributes: true });
    })`);
    const [, at] = await Promise.all([source.run((needed + 100) * everyMs), seen]);
    delays.push(at - ([...source.sentAt.values()][needed - 1] ?? Number.NaN));
    await page.close();
    await source.stop();
  }
  out(
    `live: a sign on the page after the last reading that it needs, median of ${runs}: ${quantile(delays, 0.5).toFixed(0)} ms`,
  );
  return quantile(delays, 0.5);
}

export async function measureLivePage(): Promise<void> {
  if (chromium === null) {
    out("SKIPPED: chromium is missing");
    return;
  }
  build();
  const browser = await launchBrowser();
  try {
    await liveDelays(browser, usualPace);
    await growth(browser, usualPace.everyMs);
    await signDelay(browser, 5);
  } finally {
    await browser.close();
  }
}
