/** What the page does when things break: a lost link, a reload in the middle, a service that goes away. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { Reading } from "../../src/reading/index.ts";
import { background } from "../support/program.ts";
import { connectToBench, type Pages, shown } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

/** The newest recording that came from this kind of address. */
function newest(from: string): Reading {
  const files = readdirSync(pages.folder).sort();
  for (const file of files.toReversed()) {
    const reading = new Reading(file);
    reading.push(readFileSync(join(pages.folder, file), "utf8"));
    if (reading.header?.from.startsWith(from) === true) return reading;
  }
  throw new Error(`no recording from ${from} among ${files.join(", ")}`);
}

test.skipIf(chromium === null)(
  "a reload in the middle of a recording catches up with all of it",
  async () => {
    const { page, errors } = await pages.open();
    await connectToBench(page);
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    await page.keyboard.press("m");
    await page.keyboard.type("before the reload");
    await page.keyboard.press("Enter");
    const mark = page.getByRole("listitem", { includeHidden: true }).filter({ hasText: "before the reload" });
    await mark.waitFor({ state: "attached" });
    await page.reload();
    await mark.waitFor({ state: "attached" });
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "an adapter that goes away is said on the page, and is a gap in the recording",
  async () => {
    const bench = await background(["bench", "--vehicle", "garden-van", "--tcp", "0"], /--on tcp:(\S+)/);
    const { page } = await pages.open();
    await page.getByRole("radio", { name: "Network adapter", exact: true }).check();
    await page.getByLabel("Address and port").fill(bench.said[1] ?? "");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await expect.poll(() => shown(page, "volts (socket)")).toBeGreaterThan(11);
    await expect.poll(() => shown(page, "speed")).toBe(0);
    await bench.stop();
    await page.getByText(/lost/i).first().waitFor();
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    const reading = newest("tcp:");
    expect(reading.gaps).toHaveLength(1);
    const speeds = [...(reading.channels.find("engine-speed")?.values ?? [])];
    expect(speeds.findLast((speed) => !Number.isNaN(speed))).toBe(0);
    expect(speeds.at(-1)).toBeNaN();
  },
  120_000,
);
