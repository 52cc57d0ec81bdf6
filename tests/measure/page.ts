/** The page in a real Chromium: opening long recordings, moving about in them, the live view. */
import { closeSync, openSync, readdirSync, readFileSync, writeSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import type { Page } from "playwright-core";
import { BareBrowser } from "./bareBrowser.ts";
import { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { line, quantile } from "./figures.ts";
import { measureLivePage } from "./livePage.ts";
import { channels, longRecording } from "./longRecording.ts";

const out = (text: string): void => void process.stdout.write(`  ${text}\n`);

/** Milliseconds, medians: opened to painted, and fetch, split and JSON.parse of the same bytes. */
export interface Opened {
  readonly ms: number;
  readonly floorMs: number;
}

function write(folder: string, file: string, hours: number): void {
  const handle = openSync(join(folder, file), "w");
  for (const part of longRecording(hours)) writeSync(handle, part);
  closeSync(handle);
}

/** Keeps lanes of one channel each, as a person may have chosen them. */
const ownLanes = `localStorage.setItem("crankside", '${JSON.stringify({ lanes: channels.map((c) => [c]) })}')`;

/** A page that can time itself, with the list of recordings open. */
async function measured(pages: Pages): Promise<Page> {
  const { page } = await pages.open();
  await page.addInitScript({ path: join(import.meta.dirname, "inPage.js") });
  await page.evaluate(ownLanes);
  await page.reload();
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  return page;
}

async function inPage<T>(page: Page, file: string, call: string): Promise<T> {
  await page.getByRole("button", { name: `open ${file}` }).waitFor();
  return page.evaluate<T>(`measuring.${call}`);
}

/** A recording of so many hours, opened in a fresh browser again and again. */
export async function opening(pages: Pages, hours: number, runs: number): Promise<Opened> {
  const file = `${Math.round(60 * hours)}-minutes.ndjson`;
  const { url } = pages;
  write(pages.folder, file, hours);
  const floors: number[] = [];
  const times: number[] = [];
  const browser = await BareBrowser.launch(chromium ?? "");
  const script = `${readFileSync(join(import.meta.dirname, "inPage.js"), "utf8")};${ownLanes}`;
  try {
    for (let i = 0; i < 2 * runs; i++) {
      // By turns, so that a slow minute of the machine falls on both.
      const page = await browser.open(url, script);
      await page.evaluate(`measuring.listed("${file}")`);
      if (i % 2 === 0) floors.push(Number(await page.evaluate(`measuring.floor("${file}")`)));
      else times.push(Number(await page.evaluate(`measuring.open("${file}")`)));
      await page.close();
    }
  } finally {
    await browser.close();
  }
  line(`${file}: opened to painted, median of ${runs}`, quantile(times, 0.5), {
    what: "fetch, split, JSON.parse",
    ms: quantile(floors, 0.5),
  });
  out(
    `  95th percentile ${quantile(times, 0.95).toFixed(0)} ms, floor's ${quantile(floors, 0.95).toFixed(0)} ms`,
  );
  return { ms: quantile(times, 0.5), floorMs: quantile(floors, 0.5) };
}

/** Milliseconds of script, layout and paint in each frame while the paper is zoomed and moved about. */
async function moving(pages: Pages, file: string): Promise<void> {
  const page = await measured(pages);
  await inPage(page, file, `open("${file}")`);
  // What the recording shows is worked out in pieces behind the first paint; a person moves about for longer.
  await page.getByText(/^Within range: /).waitFor({ timeout: 120_000 });
  // The first moves find a page whose code has hardly run; what comes after is what a person has for the rest of the day.
  const all: number[] = [];
  const tell = (when: string, times: readonly number[]): void => {
    const [median, late, most] = [quantile(times, 0.5), quantile(times, 0.95), Math.max(...times)];
    out(
      `pan and zoom in ${file}, 12 lanes, ${when}, ${times.length} frames: work median ${median.toFixed(1)}, 95th percentile ${late.toFixed(1)}, most ${most.toFixed(1)} ms (held to 16.7 and 50)`,
    );
  };
  for (const [when, frames] of [
    ["at once", 360],
    ["then", 1080],
  ] as const) {
    const times = await page.evaluate<number[]>(`measuring.move(${frames})`);
    tell(when, times);
    all.push(...times);
  }
  tell("both together", all);
  await page.close();
}

/** What the page begins with, and all that it may fetch later. */
function scriptSize(): void {
  const folder = join(import.meta.dirname, "../../dist/page");
  const size = (name: string): number => gzipSync(readFileSync(join(folder, "assets", name))).length / 1000;
  const scripts = readdirSync(join(folder, "assets")).filter((name) => name.endsWith(".js"));
  const first = readFileSync(join(folder, "index.html"), "utf8");
  const begins = scripts.filter((name) => first.includes(name)).reduce((sum, name) => sum + size(name), 0);
  const all = scripts.reduce((sum, name) => sum + size(name), 0);
  out(
    `script, compressed: ${begins.toFixed(1)} kB to begin with (held to 150), ${all.toFixed(1)} kB with all that is fetched later`,
  );
}

async function firstPaint(pages: Pages): Promise<void> {
  const times: number[] = [];
  for (let i = 0; i < 7; i++) {
    const { page } = await pages.open();
    await page.getByRole("heading", { name: "Crankside" }).waitFor();
    await page.evaluate("new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve, 50)))");
    const paint = 'performance.getEntriesByName("first-contentful-paint")[0].startTime';
    times.push(await page.evaluate<number>(paint));
    await page.close();
  }
  out(
    `first paint: median ${quantile(times, 0.5).toFixed(0)} ms, most ${Math.max(...times).toFixed(0)} ms (held to 1000)`,
  );
}

/** `page` measures all of it, `page:open` the opening and `page:live` the live view alone. */
export async function measurePage(part?: string): Promise<void> {
  if (part === "live") {
    await measureLivePage();
    return;
  }
  if (chromium === null) {
    out("SKIPPED: chromium is missing");
    return;
  }
  const pages = await Pages.start();
  try {
    if (part !== "open") {
      scriptSize();
      await firstPaint(pages);
    }
    const one = await opening(pages, 1, 7);
    const ten = await opening(pages, 10, 3);
    out(`ten hours take ${(ten.ms / one.ms).toFixed(1)} times one hour`);
    if (part === "open") return;
    await moving(pages, "600-minutes.ndjson");
  } finally {
    await pages.stop();
  }
  await measureLivePage();
}
