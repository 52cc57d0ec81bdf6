/** The page cut off from a program that lives on: a dropped line, a tab in the background for an hour, no storage. */
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { chromium as playwright, type Browser, type Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { Reading } from "../../src/reading/index.ts";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { connectToBench, shown } from "../support/pages.ts";
import { service, tempFolder } from "../support/program.ts";
import { proxyTo } from "../support/proxy.ts";
import { chartWide } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { virtualService } from "../support/virtualService.ts";

let browser: Browser;
const pageFolder = join(import.meta.dirname, "../../dist/page");

beforeAll(async () => {
  if (chromium === null) return;
  build();
  browser = await sharedBrowser();
}, 180_000);

afterAll(async () => {
  if (chromium !== null) await browser.close();
});

function onlyRecording(folder: string): Buffer {
  const [file = ""] = readdirSync(folder).filter((name) => name.endsWith(".ndjson"));
  return readFileSync(join(folder, file));
}

/** The page has every byte of a file of this length: it shows its size, of what it joined without a hole. */
async function hasAll(page: Page, bytes: number): Promise<void> {
  const shownAs = bytes < 999_500 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
  await page.getByText(`long · ${shownAs}`).first().waitFor();
}

const away = "Crankside itself does not answer any more";

test.skipIf(chromium === null)(
  "a dropped line is said, a label goes on being typed, and no reading is missing when it is back",
  async () => {
    const folder = tempFolder();
    const running = await service(folder.path);
    const wire = await proxyTo(Number(new URL(running.said[1] ?? "").port));
    const context = await browser.newContext();
    const page = await context.newPage();
    page.setDefaultTimeout(60_000);
    await page.goto(`http://127.0.0.1:${wire.port}/`);
    await connectToBench(page);
    await chartWide(page);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    await page.keyboard.press("m");
    await page.keyboard.type("half");
    const before = onlyRecording(folder.path).length;
    wire.cut();
    await page.getByText(away).waitFor();
    await page.keyboard.type("way");
    await page.keyboard.press("Enter");
    // The program goes on recording meanwhile.
    await expect.poll(() => onlyRecording(folder.path).length).toBeGreaterThan(before + 10_000);
    wire.mend();
    await page.getByText(away).waitFor({ state: "detached" });
    await expect.poll(() => onlyRecording(folder.path).toString("utf8")).toContain("halfway");
    await page.getByRole("button", { name: /Stop recording/ }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor({ state: "detached" });
    await hasAll(page, onlyRecording(folder.path).length);
    await page
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "halfway" })
      .waitFor({ state: "attached" });
    // A mark that is set while the program is away, in a tab that is then closed, is kept by the next one.
    wire.cut();
    await page.getByText(away).waitFor();
    await page.keyboard.press("m");
    await page.keyboard.type("while it was away");
    await page.keyboard.press("Enter");
    await page
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "while it was away" })
      .waitFor({ state: "attached" });
    await page.close();
    wire.mend();
    const next = await context.newPage();
    next.setDefaultTimeout(60_000);
    await next.goto(`http://127.0.0.1:${wire.port}/`);
    await next.getByRole("radio", { name: "A recording", exact: true }).check();
    await next
      .getByRole("button", { name: /^open .*\.ndjson$/ })
      .first()
      .click();
    await next
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "while it was away" })
      .waitFor({ state: "attached" });
    await expect.poll(() => onlyRecording(folder.path).toString("utf8")).toContain("while it was away");
    // Then nothing of it is left beside the page.
    await expect
      .poll(() => next.evaluate("Object.keys(localStorage).filter((n) => n.startsWith('crankside-mark-'))"))
      .toEqual([]);
    await context.close();
    await wire.close();
    await running.stop();
    folder.remove();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "a tab in the background for an hour catches up with all of it, the server holds nothing back for it",
  async () => {
    const { folder, clock, server, ask, close } = await virtualService(pageFolder);
    // Its line is a slow one, so an hour of it is soon over.
    await ask({ type: "connect", address: "bench:old-hatch", facts: {} });
    const page = await browser.newPage();
    page.setDefaultTimeout(90_000);
    await page.goto(server.url);
    await clock.pass(5000);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    const session = await page.context().newCDPSession(page);
    await session.send("Page.setWebLifecycleState", { state: "frozen" });
    const from = onlyRecording(folder).length;
    await clock.pass(3_600_000);
    expect(onlyRecording(folder).length).toBeGreaterThan(from + 1_000_000);
    await session.send("Page.setWebLifecycleState", { state: "active" });
    await page
      .getByText(/recording · 1:0\d:\d\d/)
      .first()
      .waitFor();
    await ask({ type: "stop" });
    const whole = onlyRecording(folder);
    await hasAll(page, whole.length);
    const reading = new Reading("hour");
    reading.push(whole.toString("utf8"));
    reading.finish();
    expect(reading.gaps).toEqual([]);
    await page.close();
    await close();
  },
  240_000,
);

test.skipIf(chromium === null)(
  "with cookies and storage forbidden and no WebGL all works, and the page says that it keeps no settings",
  async () => {
    const folder = tempFolder();
    const running = await service(folder.path);
    const profile = tempFolder();
    mkdirSync(join(profile.path, "Default"), { recursive: true });
    // As when a person forbids all sites to keep anything.
    const forbidden = { profile: { default_content_setting_values: { cookies: 2 } } };
    writeFileSync(join(profile.path, "Default", "Preferences"), JSON.stringify(forbidden));
    const context = await playwright.launchPersistentContext(profile.path, {
      ...(chromium === null ? {} : { executablePath: chromium }),
      args: ["--no-sandbox", "--disable-gpu", "--disable-3d-apis", "--disable-background-networking"],
    });
    const page = await context.newPage();
    page.setDefaultTimeout(60_000);
    const errors: string[] = [];
    page.on("pageerror", (error) => errors.push(error.message));
    await page.goto(running.said[1] ?? "");
    const able = await page.evaluate<unknown>(`(() => {
      let storage = "kept";
      try { localStorage.setItem("x", "1"); } catch { storage = "refused"; }
      return { storage, webgl: document.createElement("canvas").getContext("webgl") !== null };
    })()`);
    expect(able).toEqual({ storage: "refused", webgl: false });
    await connectToBench(page);
    await chartWide(page);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    await page.keyboard.press("m");
    await page.keyboard.type("kept without storage");
    await page.keyboard.press("Enter");
    await expect.poll(() => onlyRecording(folder.path).toString("utf8")).toContain("kept without storage");
    await page.getByText("This browser stores no settings").waitFor();
    expect(errors).toEqual([]);
    await context.close();
    await running.stop();
    profile.remove();
    folder.remove();
  },
  90_000,
);
