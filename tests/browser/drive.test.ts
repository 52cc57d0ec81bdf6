/** A real drive of the open data set, imported on the command line and opened in the page. */
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { Pages, shown } from "../support/pages.ts";
import { crankside } from "../support/program.ts";
import { chromium, dataSet } from "../support/tools.ts";

const runs = chromium !== null && dataSet !== null;
let pages: Pages;

beforeAll(async () => {
  if (!runs) return;
  pages = await Pages.start();
  const map = join(import.meta.dirname, "../../recordings/maps/held-27-columns.json");
  const out = join(pages.folder, "drive.ndjson");
  const { status } = await crankside([
    "import",
    join(dataSet ?? "", "drive2.csv.gz"),
    "--columns",
    map,
    "--out",
    out,
  ]);
  expect(status).toBe(0);
}, 180_000);

afterAll(async () => {
  if (runs) await pages.stop();
});

test.skipIf(!runs)(
  "an imported drive opens with its lanes, its regimes and its engine start",
  async () => {
    const { page, errors } = await pages.open();
    await page.getByRole("radio", { name: "A recording", exact: true }).check();
    await page.getByRole("button", { name: "open drive.ndjson" }).click();
    await page.locator(".lane").first().waitFor();
    await expect.poll(() => shown(page, "speed")).toBeGreaterThanOrEqual(0);
    // The README of the data set: begins with key on, and starts. One car's manifold pressure, no air-flow sensor.
    await page.getByText("started").first().waitFor();
    const text = await page.locator("body").innerText();
    expect(text).toContain("manifold");
    expect(text).not.toContain("invented");
    expect(errors).toEqual([]);
  },
  120_000,
);
