/** The main job in a real Chromium on the built page: connect, watch, crank, mark, stop, open again. */
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { launchBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { service, tempFolder, type Background } from "../support/program.ts";
import { chromium } from "../support/tools.ts";

const folder = tempFolder();
let running: Background | null = null;
let browser: Browser | null = null;

beforeAll(async () => {
  if (chromium === null) return;
  build();
  running = await service(folder.path);
  browser = await launchBrowser();
}, 180_000);

afterAll(async () => {
  await browser?.close();
  await running?.stop();
  folder.remove();
});

/** A page that fails the test when its console reports an error. */
async function openPage(size = { width: 1280, height: 720 }): Promise<{ page: Page; errors: string[] }> {
  if (browser === null || running === null) throw new Error("no browser was started");
  const page = await browser.newPage({ viewport: size });
  const errors: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error") errors.push(message.text());
  });
  page.on("pageerror", (error) => errors.push(error.message));
  await page.goto(running.said[1] ?? "");
  return { page, errors };
}

/** The number that a lane shows now. */
async function shown(page: Page, lane: string): Promise<number> {
  const text = await page.locator(".lane", { hasText: lane }).first().locator(".label").innerText();
  return Number(/(-?\d+(?:\.\d+)?) (?:rpm|V)/.exec(text)?.[1]);
}

async function connectToBench(page: Page): Promise<void> {
  await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
  await page.getByRole("button", { name: "Connect and record" }).click();
  await page.getByRole("button", { name: /Stop recording/ }).waitFor();
}

/** All lane readouts at the cursor, with the pointer held over the same place of the whole recording. */
async function readoutsAt(page: Page, share: number): Promise<string[]> {
  await page.keyboard.press("a");
  const plot = await page.locator(".lane .plot").first().boundingBox();
  if (plot === null) throw new Error("no lane is drawn");
  await page.mouse.move(plot.x + plot.width * share, plot.y + plot.height / 2);
  await page.mouse.move(plot.x + plot.width * share + 1, plot.y + plot.height / 2);
  await page.locator(".lane .label").first().waitFor();
  return page.locator(".lane .label").allInnerTexts();
}

test.skipIf(chromium === null)(
  "connect to the bench vehicle, crank, mark, stop, reopen: the mark and the same values are there",
  async () => {
    const { page, errors } = await openPage();
    await connectToBench(page);
    await page.getByText("bench vehicle, invented data").first().waitFor();
    await expect.poll(() => shown(page, "volts (socket)"), { timeout: 15_000 }).toBeGreaterThan(11);
    expect(await shown(page, "speed")).toBe(0);

    await page.keyboard.down("c");
    await expect.poll(() => shown(page, "speed"), { timeout: 15_000 }).toBeGreaterThan(100);
    await expect.poll(() => shown(page, "speed"), { timeout: 15_000 }).toBeGreaterThan(600);
    await page.keyboard.up("c");

    await page.keyboard.press("m");
    await page.keyboard.type("it fired");
    await page.keyboard.press("Enter");
    await page.getByRole("listitem").filter({ hasText: "it fired" }).waitFor();

    await page.getByRole("button", { name: /Stop recording/ }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor({ state: "detached" });
    const before = await readoutsAt(page, 0.8);
    expect(before.join(" ")).toMatch(/\d/);
    await page.screenshot({ path: `${folder.path}/stopped.png` });

    await page.keyboard.press("h");
    await page.getByRole("radio", { name: "A recording", exact: true }).check();
    await page
      .getByRole("button", { name: /^open .*\.ndjson$/ })
      .first()
      .click();
    await page.getByRole("listitem").filter({ hasText: "it fired" }).waitFor();
    expect(await readoutsAt(page, 0.8)).toEqual(before);
    expect(errors).toEqual([]);
    await page.close();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "at 390 px wide nothing runs over the edge, and the far view shows speed and volts",
  async () => {
    const { page, errors } = await openPage({ width: 390, height: 844 });
    await connectToBench(page);
    await expect.poll(() => shown(page, "volts (socket)"), { timeout: 15_000 }).toBeGreaterThan(11);
    const overflow = await page.evaluate("document.documentElement.scrollWidth - innerWidth");
    expect(overflow).toBeLessThanOrEqual(0);
    await page.keyboard.press("f");
    const far = page.locator(".far");
    await far.waitFor();
    expect(await far.innerText()).toMatch(/rpm[\s\S]*volts/);
    await page.keyboard.press("Escape");
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    expect(errors).toEqual([]);
    await page.close();
  },
  60_000,
);
