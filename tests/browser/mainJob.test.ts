/** The main job in a real Chromium on the built page: connect, watch, crank, mark, stop, open again. */
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { connectToBench, type Pages, shown } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

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
    const { page, errors } = await pages.open();
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

    await page.keyboard.press("h");
    await page.getByRole("radio", { name: "A recording", exact: true }).check();
    await page
      .getByRole("button", { name: /^open .*\.ndjson$/ })
      .first()
      .click();
    await page.getByRole("listitem").filter({ hasText: "it fired" }).waitFor();
    expect(await readoutsAt(page, 0.8)).toEqual(before);
    expect(errors).toEqual([]);
  },
  90_000,
);

test.skipIf(chromium === null)(
  "at 390 px wide nothing runs over the edge, and the far view shows speed and volts",
  async () => {
    const { page, errors } = await pages.open({ width: 390, height: 844 });
    await connectToBench(page);
    await expect.poll(() => shown(page, "volts (socket)"), { timeout: 15_000 }).toBeGreaterThan(11);
    const overflow = await page.evaluate("document.documentElement.scrollWidth - innerWidth");
    expect(overflow).toBeLessThanOrEqual(0);
    await page.keyboard.press("f");
    const far = page.locator(".far");
    await far.waitFor();
    expect(await far.innerText()).toMatch(/rpm[\s\S]*volts/);
    await page.keyboard.press("Escape");
    // What a narrow bar has no room for stands behind it.
    await page.getByRole("button", { name: /^More/ }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    expect(errors).toEqual([]);
  },
  60_000,
);
