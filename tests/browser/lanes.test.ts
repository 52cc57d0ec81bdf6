/** Lanes under the hand and for the eye, in a real Chromium: order by dragging, a table of figures. */
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";

let pages: Pages;

beforeAll(async () => {
  if (chromium !== null) pages = await Pages.start();
}, 180_000);

afterAll(async () => {
  if (chromium !== null) await pages.stop();
});

async function opened(file: string): Promise<{ page: Page; errors: string[] }> {
  const open = await pages.open();
  await open.page.getByRole("radio", { name: "A recording", exact: true }).check();
  await open.page.getByRole("button", { name: `open ${file}` }).click();
  await open.page
    .locator('section.chart[aria-busy="false"] .lane canvas')
    .first()
    .waitFor({ timeout: 60_000 });
  return open;
}

const names = (page: Page): Promise<string[]> => page.locator(".lane .label .name").allInnerTexts();

test.skipIf(chromium === null)(
  "lanes change places by dragging, by finger, and by arrow keys",
  async () => {
    const { page, errors } = await opened("van-hisses-at-idle.ndjson.gz");
    const order = await names(page);
    const grip = page.getByRole("button", { name: "move the lane of throttle" });
    const middle = async (): Promise<{ x: number; y: number }> => {
      const box = await grip.boundingBox();
      if (box === null) throw new Error("there is no grip");
      return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    };
    const top = (await page.locator(".lane").first().boundingBox())?.y ?? 0;
    let at = await middle();
    await page.mouse.move(at.x, at.y);
    await page.mouse.down();
    await page.mouse.move(at.x, (at.y + top) / 2);
    await page.mouse.move(at.x, top - 30);
    await page.mouse.up();
    await expect.poll(async () => (await names(page))[0]).toBe("throttle");

    at = await middle();
    const touch = await page.context().newCDPSession(page);
    const finger = (type: "touchStart" | "touchMove" | "touchEnd", y: number): Promise<unknown> =>
      touch.send("Input.dispatchTouchEvent", {
        type,
        touchPoints: type === "touchEnd" ? [] : [{ x: at.x, y }],
      });
    const height = (await page.locator(".lane").nth(1).boundingBox())?.height ?? 0;
    await finger("touchStart", at.y);
    await finger("touchMove", at.y + height / 2);
    await finger("touchMove", at.y + height + 20);
    await finger("touchEnd", 0);
    await expect.poll(async () => (await names(page)).indexOf("throttle")).toBe(1);

    await grip.focus();
    await page.keyboard.press("ArrowDown");
    await expect.poll(async () => (await names(page)).indexOf("throttle")).toBe(2);
    expect((await names(page)).toSorted()).toEqual(order.toSorted());
    expect(errors).toEqual([]);
    await page.close();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "the lanes as a table: each reading with its age and range in words, going with the cursor",
  async () => {
    const { page, errors } = await opened("van-hisses-at-idle.ndjson.gz");
    await page.getByText(/^Within range: /).waitFor();
    await page.keyboard.press("k");
    await page.getByText(/^Crank 1: /).waitFor();
    await page.keyboard.press("4");
    const table = page.getByRole("group", { name: "lanes as a table" }).getByRole("table");
    const speed = table.getByRole("row", { name: /^Engine speed/ });
    await speed.waitFor();
    const before = await table.locator("caption").innerText();
    for (let i = 0; i < 40; i++) await page.keyboard.press(".");
    await expect.poll(() => table.locator("caption").innerText()).not.toBe(before);
    const cells = await speed.getByRole("cell").allInnerTexts();
    expect(cells[2]).toMatch(/rpm$/);
    expect(Number.parseInt(cells[4] ?? "", 10)).toBeGreaterThan(20);
    await expect
      .poll(() =>
        table
          .getByRole("row", { name: /^Socket voltage|^Supply voltage|volt/i })
          .first()
          .innerText(),
      )
      .toMatch(/Plausible while .* Source: /);
    expect(errors).toEqual([]);
    await page.close();
  },
  60_000,
);
