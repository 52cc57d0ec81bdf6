/** What leaves the page, and what it says where something does not. */
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { JobPages, kept } from "../support/jobPages.ts";
import { chromium } from "../support/tools.ts";

let pages: JobPages;

beforeAll(async () => {
  if (chromium !== null) pages = await JobPages.start();
}, 180_000);
afterAll(async () => {
  if (chromium !== null) await pages.stop();
});

async function withJob(): Promise<Page> {
  const page = await pages.openRecording(await pages.browser.newContext());
  await page.getByRole("button", { name: "the cranks" }).click();
  await kept(page);
  return page;
}

test.skipIf(chromium === null)(
  "a file that is not made says so in the dialog of the note, and comes with the next try",
  async () => {
    const page = await withJob();
    await page.getByRole("button", { name: "Note", exact: true }).click();
    const note = page.frameLocator('iframe[title="The note as it leaves"]');
    await note.getByText("bench vehicle, invented data").first().waitFor();
    const refusal = {
      status: 500,
      contentType: "application/json",
      body: '{"code":"file-unwritable","message":"the file cannot be written; found no space left; at /jobs"}',
    };
    await page.route("**/bundle.zip?*", (route) => route.fulfill(refusal));
    const bundle = page.getByRole("link", { name: "Bundle with recordings (zip)" });
    await bundle.click();
    const alert = page.getByRole("dialog").getByRole("alert");
    await alert.getByText("the file cannot be written").waitFor();
    expect(await alert.innerText()).toContain("no space left");
    await page.unroute("**/bundle.zip?*");
    const download = page.waitForEvent("download");
    await bundle.click();
    expect((await download).suggestedFilename()).toMatch(/^\d{4}-\d\d-\d\d-.*\.zip$/);
    await alert.waitFor({ state: "detached" });

    // The note itself: told, and not an empty frame.
    await page.route("**/note.html?*", (route) => route.fulfill(refusal));
    await page.getByRole("checkbox", { name: "the plate" }).check();
    await alert.getByText("the file cannot be written").waitFor();
    await page.context().close();
  },
  180_000,
);
