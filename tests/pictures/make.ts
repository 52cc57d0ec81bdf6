/**
 * The pictures that README.md and src/page/README.md show, from the built page in a real browser: samples that ship, and
 * the bench vehicle. All of it is invented data, and says so.
 */
import { join } from "node:path";
import type { Page } from "playwright-core";
import { openRecording, Pages } from "../support/pages.ts";

const folder = join(import.meta.dirname, "../../src/page/pictures");
const laptop = { width: 1366, height: 768 };
const van = "van-lean-on-one-side.ndjson.gz";
const hatch = "hatch-turns-and-says-nothing.ndjson.gz";

/** A sample over the whole width of the page, on one of its papers. */
async function wide(page: Page, file: string, sheet: string): Promise<void> {
  await openRecording(page, file);
  await page.keyboard.press("w");
  await page.getByRole("button", { name: /^Show the sheet/ }).waitFor();
  if (sheet !== "Lanes") await page.getByRole("button", { name: sheet, exact: true }).click();
}

/** By name: what is done before the picture is taken. */
const pictures: Readonly<Record<string, (page: Page) => Promise<void>>> = {
  rest: async (page) => {
    await openRecording(page, hatch);
    await page.getByRole("group", { name: "next check" }).waitFor();
  },
  chart: (page) => wide(page, van, "Lanes"),
  "chart-dark": async (page) => {
    await page.emulateMedia({ colorScheme: "dark" });
    await wide(page, van, "Lanes");
  },
  cranks: (page) => wide(page, hatch, "Cranks"),
  mixture: (page) => wide(page, van, "Mixture"),
  table: (page) => wide(page, van, "Table"),
  far: async (page) => {
    await openRecording(page, van);
    await page.keyboard.press("f");
  },
  "chart-390": (page) => openRecording(page, van),
  // The last one: what is connected stays so.
  crank: async (page) => {
    // One that does not start cranks for as long as the key is held.
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.getByRole("combobox", { name: "With a fault" }).selectOption("pump-dead");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await page.getByText("key on", { exact: true }).first().waitFor();
    await page.keyboard.down("c");
    await page.getByText(/^[3-9]\.\d of 15 s/).waitFor();
    await page.getByRole("button", { name: /^Show the sheet/ }).waitFor();
  },
};

export async function makePictures(wanted: readonly string[]): Promise<void> {
  const pages = await Pages.start();
  try {
    for (const [name, before] of Object.entries(pictures)) {
      if (wanted.length > 0 && !wanted.includes(name)) continue;
      const size = name.endsWith("-390") ? { width: 390, height: 844 } : laptop;
      const { page } = await pages.open(size, { colorScheme: "light" });
      await before(page);
      await page.mouse.move(0, 0);
      // Fonts, worked out causes and the last frame.
      await page.evaluate("document.fonts.ready");
      await page.waitForLoadState("networkidle");
      await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
      await page.screenshot({ path: join(folder, `${name}.png`) });
      await page.keyboard.up("c");
      await page.close();
      process.stdout.write(`${name}.png\n`);
    }
  } finally {
    await pages.stop();
  }
}
