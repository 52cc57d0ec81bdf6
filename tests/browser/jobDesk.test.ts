/** Words on the job sheet outlive the tab that they were typed in, or the browser asks first. */
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { JobPages } from "../support/jobPages.ts";
import { chromium } from "../support/tools.ts";

let pages: JobPages;
let context: BrowserContext;

beforeAll(async () => {
  if (chromium === null) return;
  pages = await JobPages.start();
  context = await pages.browser.newContext();
  const page = await pages.openRecording(context);
  await page.getByRole("button", { name: "Begin a job" }).click();
  await own(page, "Conclusion").waitFor();
  await page.close();
}, 180_000);

afterAll(async () => {
  if (chromium !== null) await pages.stop();
});

const own = (page: Page, part: string) => page.getByRole("textbox", { name: `${part}, in your words` });

test.skipIf(chromium === null)(
  "words that were typed while the program was away, in a tab that was then closed, are kept by the next one",
  async () => {
    const page = await pages.openRecording(context);
    await page.route("**/api/jobs/*/changes", (route) => route.abort());
    await own(page, "What was done").fill("Plug cleaned.");
    await page.locator('.job[data-saved="failed"]').waitFor();
    // Kept beside the page, so the browser need not ask.
    let asked = false;
    page.on("dialog", (dialog) => {
      asked = true;
      void dialog.accept();
    });
    await page.close({ runBeforeUnload: true });
    await expect.poll(() => page.isClosed()).toBe(true);
    expect(asked).toBe(false);
    expect(pages.job().texts.done).toBeUndefined();
    const next = await pages.openRecording(context);
    await expect.poll(() => pages.job().texts.done, { timeout: 15_000 }).toBe("Plug cleaned.");
    await next.close();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "where storage is off the page says so, and the browser asks before words are lost",
  async () => {
    const careless = await pages.browser.newContext();
    await careless.addInitScript(
      `Object.defineProperty(window, "localStorage", { get() { throw new DOMException("off", "SecurityError"); } });`,
    );
    const page = await pages.openRecording(careless);
    await page.getByText("The browser keeps nothing beside the page.").waitFor();
    await page.route("**/api/jobs/*/changes", (route) => route.abort());
    await own(page, "Conclusion").pressSequentially("A contact.");
    await page.locator('.job[data-saved="failed"]').waitFor();
    const asked = page.waitForEvent("dialog");
    await page.close({ runBeforeUnload: true });
    const dialog = await asked;
    expect(dialog.type()).toBe("beforeunload");
    await dialog.dismiss();
    await page.unroute("**/api/jobs/*/changes");
    await expect.poll(() => pages.job().texts.conclusion, { timeout: 15_000 }).toBe("A contact.");
    await careless.close();
  },
  90_000,
);
