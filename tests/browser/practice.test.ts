/** A guided case on the page: story, hidden fault, by hand, and the debrief. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

test.skipIf(chromium === null)(
  "a case is chosen by its story, tried by hand with a mark, and told at the end",
  async () => {
    const { page, errors } = await pages.open();
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.getByLabel(/^To practise/).selectOption("case-silent");
    await page.getByText("It stopped at a crossing").waitFor();
    await page.getByRole("button", { name: "Connect" }).click();
    const strip = page.getByRole("region", { name: "bench vehicle" });
    await strip.getByText("a fault is hidden").waitFor();
    expect(await strip.innerText()).not.toMatch(/crank signal/i);
    await strip.getByText("by hand", { exact: true }).click();
    await strip.getByRole("button", { name: "Unplug cylinder 2" }).click();
    await strip.getByRole("button", { name: "Plug cylinder 2 in again" }).click();
    await strip.getByLabel("Measure or look").selectOption("fuel-pressure");
    await strip.getByRole("button", { name: "Read", exact: true }).click();
    await strip.getByText(/^Fuel pressure as it stands: \d+ kPa/).waitFor();
    // Its menu lies over the sheet while it is open.
    await strip.getByText("by hand", { exact: true }).click();
    await page.getByRole("button", { name: "I am done: show what it was" }).click();
    const debrief = page.getByRole("region", { name: "debrief" });
    await debrief.getByText("It was: no crank signal", { exact: false }).waitFor();
    expect(await debrief.innerText()).toContain("Nothing was changed in vain.");
    const file = readdirSync(pages.folder).find((name) => name.endsWith(".ndjson")) ?? "";
    const kept = (): string => readFileSync(join(pages.folder, file), "utf8");
    await expect.poll(kept).toContain("cylinder 2 unplugged");
    await expect.poll(kept).toContain("Fuel pressure as it stands:");
    expect(kept()).not.toMatch(/case-silent|no-crank-signal/);
    expect(errors).toEqual([]);
  },
);
