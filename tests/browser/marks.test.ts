/** Marks by hand in a real Chromium: a key held makes a stretch, ready labels, one's own label kept over a reload. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { connectToBench, type Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

interface KeptMark {
  readonly at: number;
  readonly until?: number;
  readonly label: string;
}

/** The last that was kept of each mark, as it stands in the file. */
function kept(): KeptMark[] {
  const file = readdirSync(pages.folder).find((name) => name.endsWith(".ndjson")) ?? "";
  const lines = readFileSync(join(pages.folder, file), "utf8").split("\n");
  const marks = new Map<string, KeptMark>();
  for (const text of lines.filter((line) => line.includes('"k":"mark"'))) {
    const mark = JSON.parse(text) as KeptMark & { id: string };
    marks.set(mark.id, mark);
  }
  return [...marks.values()];
}

const namer = (page: Page): ReturnType<Page["getByRole"]> =>
  page.getByRole("form", { name: "name the mark" });

test.skipIf(chromium === null)(
  "a mark's key held makes a stretch; ready labels; one's own label is ready after a reload",
  async () => {
    const { page, errors } = await pages.open();
    await connectToBench(page);
    await page.locator(".lane canvas").first().waitFor();

    await page.keyboard.down("m");
    const pressed = Date.now();
    await expect.poll(() => Date.now() - pressed, { timeout: 5000 }).toBeGreaterThan(1500);
    await page.keyboard.up("m");
    await namer(page)
      .getByText(/^stretch\s.* to /)
      .waitFor();
    await page.keyboard.type("earth lead held on");
    await page.keyboard.press("Enter");
    await namer(page).waitFor({ state: "detached" });
    await page.getByRole("button", { name: "earth lead held on", exact: true }).waitFor();
    await expect.poll(() => kept().at(-1)?.label).toBe("earth lead held on");
    const stretch = kept().at(-1);
    expect((stretch?.until ?? 0) - (stretch?.at ?? 0)).toBeGreaterThan(1000);

    // A short press is an instant.
    await page.keyboard.press("m");
    await namer(page)
      .getByText(/^mark at\s/)
      .waitFor();
    const ready = page.getByRole("group", { name: "ready labels" });
    for (const label of [
      "fuel added at the intake",
      "throttle opened",
      "relay swapped",
      "cylinder 1 unplugged",
    ])
      expect(await ready.getByRole("button", { name: label, exact: true }).count(), label).toBe(1);
    await ready.getByRole("button", { name: "relay swapped" }).click();
    await expect.poll(() => kept().at(-1)?.label).toBe("relay swapped");
    expect(kept().at(-1)?.until).toBeUndefined();

    // A stretch by two presses, named by a ready label.
    await page.keyboard.press("i");
    await page.getByRole("button", { name: /^End stretch from/ }).waitFor();
    const begun = Date.now();
    await expect.poll(() => Date.now() - begun, { timeout: 5000 }).toBeGreaterThan(500);
    await page.keyboard.press("i");
    await namer(page)
      .getByText(/^stretch\s/)
      .waitFor();
    await ready.getByRole("button", { name: "throttle opened" }).click();
    await expect.poll(() => kept().at(-1)?.label).toBe("throttle opened");
    expect(kept().at(-1)?.until).toBeGreaterThan(kept().at(-1)?.at ?? Infinity);

    await page.reload();
    await page.locator(".lane canvas").first().waitFor();
    await page.keyboard.press("m");
    const own = ready.getByRole("button", { name: "earth lead held on", exact: true });
    await own.click();
    await expect.poll(() => kept().filter(({ label }) => label === "earth lead held on").length).toBe(2);
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  120_000,
);
