/** What breaks around the page: the program, the socket, the machine, the browser's favours. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, beforeEach, afterEach, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { sharedBrowser } from "../support/browser.ts";
import { KeptPage } from "../support/keptPage.ts";
import { connectToBench, shown } from "../support/pages.ts";
import { background, tempFolder, type Background } from "../support/program.ts";
import { chromium } from "../support/tools.ts";

let browser: Browser;
let window: KeptPage | null = null;
let folder: ReturnType<typeof tempFolder>;
let running: Background;
let port: string;

beforeAll(async () => {
  if (chromium === null) return;
  build();
  browser = await sharedBrowser();
}, 180_000);

afterAll(async () => {
  if (chromium !== null) await browser.close();
});

beforeEach(async () => {
  if (chromium === null) return;
  folder = tempFolder();
  running = await start("0");
  port = new URL(running.said[1] ?? "").port;
});

afterEach(async () => {
  if (chromium === null) return;
  await running.stop();
  folder.remove();
});

function start(onPort: string): Promise<Background> {
  return background(
    ["serve", "--no-open", "--port", onPort, "--folder", folder.path],
    /Crankside is at (http:\S+)/,
  );
}

/** The one window; `options`: another, which the test closes. */
async function open(options?: Parameters<Browser["newPage"]>[0]): Promise<Page> {
  const url = `http://127.0.0.1:${port}/`;
  if (options === undefined) {
    window ??= await KeptPage.make(browser);
    window.page.setDefaultTimeout(60_000);
    return (await window.open(url, { width: 1280, height: 720 })).page;
  }
  const page = await browser.newPage(options);
  page.setDefaultTimeout(60_000);
  await page.goto(url);
  return page;
}

async function mark(page: Page, label: string): Promise<void> {
  await page.keyboard.press("m");
  await page.keyboard.type(label);
  await page.keyboard.press("Enter");
}

function recordings(): string {
  return readdirSync(folder.path)
    .filter((name) => name.endsWith(".ndjson"))
    .map((name) => readFileSync(join(folder.path, name), "utf8"))
    .join("");
}

test.skipIf(chromium === null)(
  "the program goes and comes back: said on the page, nothing drawn is lost, a mark made meanwhile is kept",
  async () => {
    const page = await open();
    await connectToBench(page);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    await running.stop();
    await page.getByText("Crankside itself does not answer any more").waitFor();
    await mark(page, "made while it was away");
    await page
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "made while it was away" })
      .waitFor({ state: "attached" });
    running = await start(port);
    await page.getByText("Crankside itself does not answer any more").waitFor({ state: "detached" });
    await expect.poll(recordings).toContain("made while it was away");
    await page
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "made while it was away" })
      .waitFor({ state: "attached" });
  },
  90_000,
);

test.skipIf(chromium === null)(
  "a frozen tab that wakes shows all of the recording, without a gap",
  async () => {
    const page = await open();
    await connectToBench(page);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    const session = await page.context().newCDPSession(page);
    await session.send("Page.setWebLifecycleState", { state: "frozen" });
    const before = recordings().length;
    await expect.poll(() => recordings().length).toBeGreaterThan(before + 20_000);
    await session.send("Page.setWebLifecycleState", { state: "active" });
    await page.getByRole("button", { name: /Stop recording/ }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor({ state: "detached" });
    const bytes = recordings().length;
    const kilobytes = Math.round(bytes / 1000);
    await page
      .getByText(new RegExp(`${kilobytes} kB`))
      .first()
      .waitFor();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "at 200 % zoom nothing runs over the edge",
  async () => {
    // Twice the size on a screen of 1280 x 720 is 640 x 360 of the page's own pixels.
    const page = await open({ viewport: { width: 640, height: 360 }, deviceScaleFactor: 2 });
    const over = (): Promise<number> =>
      page.evaluate<number>("document.documentElement.scrollWidth - innerWidth");
    await page.getByRole("button", { name: "Connect and record" }).waitFor();
    expect(await over(), "the hookup").toBeLessThanOrEqual(0);
    await connectToBench(page);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    expect(await over(), "the chart").toBeLessThanOrEqual(0);
    // Cranks, mixture, the table, and the lanes again; then what lies over them.
    for (const key of ["2", "3", "4", "1"]) {
      await page.keyboard.press(key);
      expect(await over(), `sheet ${key}`).toBeLessThanOrEqual(0);
    }
    for (const key of ["?", "g"]) {
      await page.keyboard.press(key);
      const dialog = page.getByRole("dialog");
      await dialog.waitFor();
      expect(await over(), `dialog ${key}`).toBeLessThanOrEqual(0);
      const box = await dialog.boundingBox();
      expect((box?.x ?? 0) + (box?.width ?? 0), `dialog ${key}`).toBeLessThanOrEqual(640);
      await page.keyboard.press("Escape");
      await dialog.waitFor({ state: "detached" });
    }
    await page.close();
  },
  120_000,
);

test.skipIf(chromium === null)(
  "a changed wall clock moves nothing on the chart",
  async () => {
    const page = await open();
    await connectToBench(page);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    await page.evaluate("{ const now = Date.now; Date.now = () => now() - 86_400_000; }");
    await mark(page, "a day earlier by the clock");
    await page
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "a day earlier by the clock" })
      .waitFor({ state: "attached" });
    await expect.poll(recordings).toContain("a day earlier by the clock");
    const line =
      recordings()
        .split("\n")
        .find((text) => text.includes("a day earlier by the clock")) ?? "{}";
    const { at, t } = JSON.parse(line) as { at: number; t: number };
    expect(at).toBeGreaterThanOrEqual(0);
    expect(Math.abs(at - t)).toBeLessThan(10_000);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "a second page in the browser is told who drives, and takes over by one act",
  async () => {
    const first = await open();
    await connectToBench(first);
    const second = await open({});
    await second.getByText(/The adapter is driven by the page on this laptop/).waitFor();
    await second.getByRole("button", { name: "Take it over here" }).click();
    await first.getByText(/The adapter is driven by the page on this laptop/).waitFor();
    await second.getByText(/The adapter is driven by/).waitFor({ state: "detached" });
    await second.close();
  },
  120_000,
);
