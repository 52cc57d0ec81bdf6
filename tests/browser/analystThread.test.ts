/** A recording is read by a thread of its own; the page does it alone where it has none. */
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";

const sample = "hatch-fires-and-chokes.ndjson.gz";
let pages: Pages;

beforeAll(async () => {
  if (chromium !== null) pages = await Pages.start();
}, 180_000);

afterAll(async () => {
  if (chromium !== null) await pages.stop();
});

/** The lanes' figures at the end of the sample, and how many threads read a file for it. */
async function opened(
  prepare: (page: Page) => Promise<unknown>,
): Promise<{ figures: string[]; read: number }> {
  const { page, errors } = await pages.open(undefined, {});
  try {
    let read = 0;
    page.on("worker", () => (read += 1));
    await prepare(page);
    await page.reload();
    await page.getByRole("radio", { name: "A recording", exact: true }).check();
    await page.getByRole("button", { name: `open ${sample}` }).click();
    await page.locator('section.chart[aria-busy="false"] .lane').first().waitFor();
    // What it shows is worked out when all of it is on the paper.
    await page.getByText(/^Within range: /).waitFor();
    const figures = await page.locator(".lane .label").allInnerTexts();
    expect(errors.filter((text) => !text.includes("analyst.worker"))).toEqual([]);
    return { figures, read };
  } finally {
    await page.context().close();
  }
}

test.skipIf(chromium === null)(
  "with a thread, without any, and with one whose script does not come, it shows the same",
  async () => {
    const usual = await opened(() => Promise.resolve());
    expect(usual.figures.length).toBeGreaterThan(2);
    expect(usual.read).toBeGreaterThan(0);
    const none = await opened((page) => page.addInitScript("delete globalThis.Worker"));
    expect(none).toEqual({ ...usual, read: 0 });
    const lost = await opened((page) => page.context().route(/analyst\.worker/, (route) => route.abort()));
    expect(lost.figures).toEqual(usual.figures);
  },
  120_000,
);
