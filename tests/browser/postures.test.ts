/** The page's two postures in a real Chromium: what has the room, what is in view, and that no hand is disturbed. */
import type { Locator, Page } from "playwright-core";
import { expect, test } from "vitest";
import { openRecording, type Pages } from "../support/pages.ts";
import { openPart } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

const laptop = { width: 1366, height: 768 };
const causesOf = (page: Page): Locator =>
  page.getByRole("region", { name: "likely causes and the next check" });

/** What of it lies outside the window, or is scrolled out of the part of the page that holds it. */
async function outOfSight(one: Locator, within: Locator): Promise<number> {
  const [own, holder] = [await one.boundingBox(), await within.boundingBox()];
  if (own === null || holder === null) return Number.POSITIVE_INFINITY;
  const bottom = Math.min(laptop.height, holder.y + holder.height);
  return Math.max(0, holder.y - own.y) + Math.max(0, own.y + own.height - bottom);
}

test.skipIf(chromium === null)(
  "at 1366 by 768 nothing needs scrolling to be acted on: three causes, the next check with its outcomes, the tabs",
  async () => {
    const { page, errors } = await pages.open(laptop);
    await openRecording(page, "hatch-turns-and-says-nothing.ndjson.gz");
    const causes = causesOf(page);
    const next = causes.getByRole("group", { name: "next check" });
    await next.waitFor();
    const todo = page.locator(".todo");
    const rows = causes.locator("ol > li:not([hidden])").filter({ has: page.locator("article") });
    await expect.poll(() => rows.count()).toBeGreaterThanOrEqual(3);
    for (let i = 0; i < 3; i++)
      expect(await outOfSight(rows.nth(i), page.locator(".likely")), `cause ${i + 1}`).toBe(0);
    for (const outcome of await next.getByRole("list", { name: "what was seen" }).getByRole("button").all())
      expect(await outOfSight(outcome, todo)).toBe(0);
    expect(await outOfSight(next.getByRole("button", { name: "Keep the result" }), todo)).toBe(0);
    for (const tab of await page.getByRole("tab").all())
      expect(await outOfSight(tab, page.locator(".tabs"))).toBe(0);
    expect(await page.evaluate("document.documentElement.scrollHeight - innerHeight")).toBeLessThanOrEqual(0);
    // What is seen stands over it all, with the cause.
    const said = page.getByRole("region", { name: "what is seen" });
    await said
      .getByText(/^Starter draws current, no RPM signal.*likely cause: crank signal missing/)
      .waitFor();
    expect(errors).toEqual([]);
  },
  90_000,
);

test.skipIf(chromium === null)(
  "the chart gets the room while the starter turns, the sheet when it stands; not under a hand; the divider is kept",
  async () => {
    const { page, errors } = await pages.open(laptop);
    // It cranks as long as the key is held.
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.getByRole("combobox", { name: "With a fault" }).selectOption("pump-dead");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor();
    const sheet = page.getByRole("complementary", { name: "job sheet" });
    await sheet.waitFor();
    await page.locator(".lane").first().waitFor();
    // Naming a mark hides no lane, beside the sheet or over the whole width.
    const namer = page.getByRole("form", { name: "name the mark" });
    for (const turned of [false, true]) {
      if (turned) {
        await page.keyboard.press("w");
        await sheet.waitFor({ state: "hidden" });
      }
      await page.keyboard.press("m");
      await namer.waitFor();
      // The lanes give way a frame after the panel has come.
      const over = async (): Promise<number> => {
        const panel = await namer.boundingBox();
        const lane = await page.locator(".lane").first().boundingBox();
        return (lane?.y ?? 0) + (lane?.height ?? Number.NaN) - (panel?.y ?? Number.NaN);
      };
      await expect.poll(over).toBeLessThanOrEqual(0);
      await page.keyboard.press("Escape");
      await namer.waitFor({ state: "detached" });
      if (turned) await page.keyboard.press("w");
    }
    await sheet.waitFor();
    // A hand on the sheet holds it.
    const tab = page.getByRole("tab", { name: /^Evidence/ });
    await tab.hover();
    await page.mouse.down();
    await page.keyboard.down("c");
    await page.getByText("cranking", { exact: true }).first().waitFor();
    await page.getByText(/^[4-9]\.\d of 15 s/).waitFor();
    expect(await sheet.isVisible()).toBe(true);
    await page.mouse.up();
    await sheet.waitFor({ state: "hidden" });
    await page.getByRole("region", { name: "crank" }).waitFor();
    await page.getByText(/^cannot say anything yet: /).waitFor();
    await page.keyboard.up("c");
    // It fired meanwhile, or the engine stands: by key the sheet is there in either case.
    await page.getByRole("button", { name: "Off", exact: true }).click();
    await sheet.waitFor({ timeout: 30_000 });

    const divider = page.getByRole("separator", { name: "width of the chart beside the sheet" });
    const width = async (): Promise<number> => (await page.locator(".left").boundingBox())?.width ?? 0;
    const before = await width();
    await divider.press("ArrowRight");
    await divider.press("ArrowRight");
    await expect.poll(width).toBeGreaterThan(before + 30);
    const wide = await width();
    await page.reload();
    await page.locator(".lane").first().waitFor();
    await expect.poll(width).toBeCloseTo(wide, -1);
    await page.getByRole("button", { name: "On", exact: true }).click();
    await page.locator(".lane").first().getByText("0 rpm", { exact: true }).waitFor();
    // With the key off nothing answered; now each lane's question has been answered again.
    const labels = page.locator(".lane .label .value");
    const unanswered = async (): Promise<string[]> =>
      (await labels.allInnerTexts()).filter((text) => text === "no answer");
    await expect.poll(unanswered).toEqual([]);
    // The next visit begins at the hookup.
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    // Whoever disconnects has broken off a question: the vehicle did not fail to answer it.
    await page.getByText(/^recording of /).waitFor();
    await expect.poll(() => labels.count()).toBeGreaterThan(3);
    expect(await unanswered()).toEqual([]);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "a hand check is found by a part or a code, a channel by the trade's abbreviation, which leads if wanted",
  async () => {
    const { page } = await pages.open(laptop);
    await openRecording(page, "van-hisses-at-idle.ndjson.gz");
    const find = causesOf(page).getByRole("combobox", { name: "another check was done" });
    for (const typed of ["rela", "P0685"]) {
      await find.fill(typed);
      await causesOf(page).getByRole("option", { name: /relay/i }).first().waitFor();
    }
    await find.fill("compression");
    await page.keyboard.press("Enter");
    await page
      .getByRole("group", { name: "another hand check" })
      .getByText(/compression/i)
      .first()
      .waitFor();
    await openPart(page, "Evidence");
    await page.keyboard.press("g");
    const dialog = page.getByRole("dialog", { name: "Lanes" });
    await dialog.getByRole("searchbox").fill("BARO");
    await dialog.getByRole("button", { name: "Barometric pressure, absolute", exact: true }).waitFor();
    await page.keyboard.press("Escape");
    await page.keyboard.press("Escape");
    await page.getByRole("button", { name: "More" }).click();
    await page.getByLabel("names of channels").selectOption("standard");
    await page.keyboard.press("Escape");
    const names = (): Promise<string[]> => page.locator(".lane .label .name").allInnerTexts();
    await expect.poll(names).toContain("RPM");
    expect(await names()).toContain("STFT B1");
  },
  90_000,
);
