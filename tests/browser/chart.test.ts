/** Each thing of the chart used as a person would, in a real Chromium on the built page, on samples that ship. */
import { copyFileSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { leastReadings } from "../../src/page/lib/chart/mixtureMap.ts";
import { openRecording, type OpenPage, type Pages } from "../support/pages.ts";
import { chartWide, sheetToo } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

const samples = join(import.meta.dirname, "../../recordings");
const cranks = "van-stood-all-winter.ndjson.gz";
const leak = "van-hisses-at-idle.ndjson.gz";

async function opened(file: string): Promise<OpenPage> {
  const open = await pages.open();
  await openRecording(open.page, file);
  // The sentence over the chart takes its room when the causes are weighed.
  await open.page
    .locator('section[aria-label="likely causes and the next check"][aria-busy="false"]')
    .waitFor({ state: "attached" });
  await chartWide(open.page);
  return open;
}

interface Cell {
  readonly text: string;
  readonly count: string;
  readonly title: string;
  readonly colour: string;
}

/** What stands in the cells of the map that is called so. */
const cellsOf = (caption: string): string => `(() => {
  const table = [...document.querySelectorAll("table")].find((t) => t.caption?.innerText === ${JSON.stringify(caption)});
  return [...table.querySelectorAll("tbody td")].map((cell) => ({
    text: cell.firstChild?.textContent.trim() ?? "",
    count: cell.querySelector("small")?.textContent ?? "",
    title: cell.title,
    colour: getComputedStyle(cell).backgroundColor,
  }));
})()`;

/** The first lane's paper as it is drawn, once it is. */
const drawn = (page: Page): Promise<string> =>
  page.evaluate<string>(
    "new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(() => r(document.querySelector('.lane canvas').toDataURL()))))",
  );

function seen(page: Page): Promise<string | null> {
  return page.getByRole("slider", { name: /place of the view/ }).getAttribute("aria-valuetext");
}

test.skipIf(chromium === null)(
  "from crank to crank and from sign to sign by keys, and through the whole recording on its strip",
  async () => {
    const { page, errors } = await opened(cranks);
    const strip = page.getByRole("slider", { name: /place of the view/ });
    // The strip tells what the engine did, and where there is something to look at.
    const regimes = await page.evaluate<string[]>(
      "[...document.querySelectorAll('.overview [data-regime]')].map((piece) => getComputedStyle(piece).backgroundColor)",
    );
    expect(new Set(regimes).size).toBeGreaterThanOrEqual(2);
    expect(await strip.locator("path.sign").count()).toBeGreaterThan(0);
    const all = await seen(page);
    await page.keyboard.press("k");
    await page.getByText(/^Crank 1: /).waitFor();
    const first = await seen(page);
    expect(first).not.toBe(all);
    await page.keyboard.press("k");
    await page.getByText(/^Crank 2: /).waitFor();
    expect(await seen(page)).not.toBe(first);
    await page.keyboard.press("Shift+K");
    await page.getByText(/^Crank 1: /).waitFor();
    await page.keyboard.press("s");
    await page.locator(".said", { hasText: /\.$/ }).waitFor();
    const before = await seen(page);
    await strip.focus();
    await page.keyboard.press("PageDown");
    expect(await seen(page)).not.toBe(before);
    const box = await strip.boundingBox();
    if (box === null) throw new Error("there is no strip");
    await page.mouse.click(box.x + box.width * 0.9, box.y + box.height / 2);
    expect(await seen(page)).toMatch(/^1:/);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "measure between two cursors: figures of the readings between them",
  async () => {
    const { page, errors } = await opened(cranks);
    await page.keyboard.press("k");
    await page.getByText(/^Crank 1: /).waitFor();
    await page.getByRole("button", { name: "Measure", exact: true }).click();
    const plot = await page.locator(".lane .plot").first().boundingBox();
    if (plot === null) throw new Error("no lane is drawn");
    await page.mouse.move(plot.x + plot.width * 0.8, plot.y + 20);
    await page.mouse.click(plot.x + plot.width * 0.8, plot.y + 20);
    const strip = page.getByRole("region", { name: "measured between the cursors" });
    const row = strip.getByRole("row", { name: /^speed, rpm/ });
    const cells = await row.getByRole("cell").allInnerTexts();
    const [difference = "", mean = "", low = "", high = "", slope = "", count = "", rate = ""] = cells;
    expect(Number(mean)).toBeGreaterThan(100);
    expect(Number(low)).toBeLessThanOrEqual(Number(mean));
    expect(Number(high)).toBeGreaterThanOrEqual(Number(mean));
    expect(Number.parseInt(count, 10)).toBeGreaterThan(50);
    expect(rate).toMatch(/\/s$/);
    // From the first turn to where the hand is the speed has come up, and no further than from lowest to highest.
    expect(Math.abs(Number(difference))).toBeGreaterThan(0);
    expect(Math.abs(Number(difference))).toBeLessThanOrEqual(Number(high) - Number(low));
    expect(slope).toMatch(/^-?\d+\.\d+$/);
    await page.keyboard.press("Escape");
    await strip.waitFor({ state: "detached" });
    // By keys alone, from reading to reading, with the hand elsewhere.
    await page.mouse.move(0, 0);
    await page.keyboard.press("k");
    await page.keyboard.press(".");
    await page.keyboard.press("d");
    await strip.waitFor();
    for (let i = 0; i < 3; i++) await page.keyboard.press(".");
    await expect.poll(() => row.getByRole("cell").nth(5).innerText()).toBe("4");
    await page.keyboard.press("d");
    await strip.waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "all cranks over each other; two picked are compared in a table",
  async () => {
    const { page, errors } = await opened(cranks);
    await page.getByRole("button", { name: "Cranks", exact: true }).click();
    for (const drawn of [/^Engine speed of the cranks/, /^Voltage of the cranks/]) {
      const plot = page.getByRole("img", { name: drawn });
      await plot.waitFor();
      expect(await plot.locator("path").count(), String(drawn)).toBeGreaterThanOrEqual(3);
    }
    expect(await page.locator(".cranks svg path").count()).toBeGreaterThanOrEqual(6);
    const table = page.getByRole("region", { name: "two cranks compared" });
    const lowest = table.getByRole("row", { name: /^Lowest voltage/ });
    const numbers = async (): Promise<number[]> =>
      (await lowest.getByRole("cell").allInnerTexts()).map((t) => Number.parseFloat(t.replace("−", "-")));
    const [a = 0, b = 0, difference = 0] = await numbers();
    expect(difference).toBeCloseTo(b - a, 2);
    await table.getByLabel("Second").selectOption({ index: 0 });
    const [, other] = await numbers();
    expect(other).not.toBe(b);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "cranks of an engine whose manifold pressure is read: its pull-down below the outside, on the same zero",
  async () => {
    const { page, errors } = await opened("truck-cranks-slowly.ndjson.gz");
    await page.keyboard.press("2");
    const plot = page.getByRole("img", { name: /^Manifold pull-down/ });
    await plot.waitFor();
    const lines = await plot.locator("path").count();
    expect(lines).toBe(
      await page
        .getByRole("img", { name: /^Engine speed of the cranks/ })
        .locator("path")
        .count(),
    );
    // A line of many readings, not one that stands at nothing.
    const first = (await plot.locator("path").first().getAttribute("d")) ?? "";
    const heights = [...first.matchAll(/[ML][-\d.]+ ([-\d.]+)/g)].map((m) => Number(m[1]));
    expect(heights.length).toBeGreaterThan(5);
    expect(Math.max(...heights) - Math.min(...heights)).toBeGreaterThan(10);
    const row = page
      .getByRole("region", { name: "figures of the crank" })
      .getByRole("row", { name: /^Pull-down/ });
    // There is one crank, and nothing to set beside it.
    const cells = await row.getByRole("cell").allInnerTexts();
    expect(cells).toHaveLength(1);
    expect(Number.parseFloat(cells[0] ?? "")).toBeGreaterThan(0);
    await page.keyboard.press("u");
    await plot.getByText(/inHg|psi/).waitFor();
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "the mixture over speed and load, and over air flow with its curve",
  async () => {
    const { page, errors } = await opened(leak);
    await page.keyboard.press("3");
    const bank = page.getByRole("region", { name: "mixture of bank 1" });
    await bank.getByRole("table", { name: /Fuel trim over RPM and load/ }).waitFor();
    const text = await bank.getByRole("cell").allInnerTexts();
    // Air that nobody meters tells most at idle: the largest correction stands where load is lowest.
    const figures = text.map((t) => Number.parseFloat(t)).filter((n) => !Number.isNaN(n));
    expect(Math.max(...figures)).toBeGreaterThan(15);
    await bank.getByText(/Fitted: [\d\s.±-]+ g\/s unmetered air/).waitFor();
    expect(await bank.locator("svg circle").count()).toBeGreaterThan(3);
    // Each bank has its own map and curve: axes with units, counts in the cells, those with too few readings empty.
    for (const part of [bank, page.getByRole("region", { name: "mixture of bank 2" })]) {
      const map = part.getByRole("table", { name: /Fuel trim over RPM and load/ });
      expect(await map.getByRole("columnheader").allInnerTexts()).toContain("load, %");
      await map.getByText("RPM; small figures: number of readings").waitFor();
      const cells = await page.evaluate<Cell[]>(cellsOf(await map.locator("caption").innerText()));
      const filled = cells.filter(({ count }) => count !== "");
      const empty = cells.filter(({ count }) => count === "");
      expect(filled.length).toBeGreaterThan(3);
      expect(filled.every(({ count }) => Number(count) >= leastReadings)).toBe(true);
      expect(empty.length).toBeGreaterThan(3);
      expect(empty.every(({ text, title }) => text === "" && title.endsWith(": too few"))).toBe(true);
      const far = filled.filter(({ text }) => Math.abs(Number.parseFloat(text.slice(1))) >= 3);
      expect(far.length).toBeGreaterThan(0);
      for (const { colour } of far) expect(colour).not.toBe("rgba(0, 0, 0, 0)");
      const curve = part.getByRole("img", { name: /^fuel trim over air flow/ });
      for (const drawn of ["path.band", "path.fit"])
        expect(((await curve.locator(drawn).getAttribute("d")) ?? "").length, drawn).toBeGreaterThan(100);
      await curve.getByText("air flow, g/s, each step the same factor").waitFor();
    }
    await page.getByText(`fewer than ${leastReadings} readings`).waitFor();
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "show me brings a sign's window and its lanes; the lanes of before can be had back",
  async () => {
    const { page, errors } = await opened(leak);
    const before = await seen(page);
    const lanes = (): Promise<string[]> => page.locator(".lane .label .name").allInnerTexts();
    // Lanes of one's own that do not show what the sign is about.
    await page.keyboard.press("g");
    await page.getByRole("dialog").getByRole("button", { name: "cranking", exact: true }).click();
    await page.keyboard.press("Escape");
    await page.getByRole("dialog").waitFor({ state: "detached" });
    // Beside the sheet names that share a lane are abbreviated: they are compared where the sheet stands.
    await sheetToo(page);
    const own = await lanes();
    await page
      .getByRole("button", { name: "show me Lean: fuel trim adds fuel on the chart" })
      .first()
      .click();
    await expect.poll(() => seen(page)).not.toBe(before);
    await expect.poll(lanes).not.toEqual(own);
    const back = page.getByRole("button", { name: "Back to my lanes" });
    await back.click();
    await back.waitFor({ state: "detached" });
    await expect.poll(lanes).toEqual(own);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "lanes: a set for a purpose, joined, parted, added, taken off, folded and resized by mouse and keys, a set of one's own kept",
  async () => {
    const { page, errors } = await opened(leak);
    await page.keyboard.press("g");
    const dialog = page.getByRole("dialog");
    const names = (): Promise<string[]> => page.locator(".lane .label .name").allInnerTexts();
    const sets = new Set<string>();
    for (const purpose of ["cranking", "running", "misfire", "mixture"]) {
      const set = dialog.getByRole("button", { name: purpose, exact: true });
      await set.click();
      await expect.poll(() => set.getAttribute("aria-pressed")).toBe("true");
      sets.add((await names()).join());
    }
    expect(sets.size).toBe(4);
    await dialog
      .getByRole("button", { name: /bank 2: into the lane above$/ })
      .first()
      .click();
    await dialog
      .getByRole("button", { name: /a lane for each$/ })
      .first()
      .click();
    await dialog.getByPlaceholder("name these lanes").fill("my trims");
    await dialog.getByRole("button", { name: "Keep as a set" }).click();
    await dialog.getByRole("button", { name: "the usual" }).click();
    await dialog.getByRole("button", { name: "remove Absolute throttle position" }).click();
    await dialog.getByPlaceholder("search").fill("module 7E9");
    await dialog.getByRole("button", { name: "Engine speed of module 7E9" }).click();
    await page.keyboard.press("Escape");
    await page.getByText("· 7E9").waitFor();
    expect(await page.locator(".lane .name", { hasText: "throttle" }).count()).toBe(0);

    const lane = page.locator(".lane").first();
    const height = async (): Promise<number> => (await lane.boundingBox())?.height ?? 0;
    const usual = await height();
    await lane.getByRole("separator").focus();
    for (let i = 0; i < 5; i++) await page.keyboard.press("ArrowDown");
    await expect.poll(height).toBeGreaterThan(usual * 1.2);
    const tall = await height();
    const edge = await lane.getByRole("separator").boundingBox();
    if (edge === null) throw new Error("there is no edge to drag");
    await page.mouse.move(edge.x + 300, edge.y + edge.height / 2);
    await page.mouse.down();
    await page.mouse.move(edge.x + 300, edge.y - 60);
    await page.mouse.up();
    await expect.poll(height).toBeLessThan(tall - 20);
    await lane.getByRole("separator").press("Enter");
    await expect.poll(height).toBeLessThan(40);
    await lane.getByRole("button", { name: /^unfold the lane/ }).click();
    await expect.poll(height).toBeGreaterThan(40);
    await lane.getByRole("button", { name: /^fold the lane/ }).click();
    await expect.poll(height).toBeLessThan(40);

    await page.reload();
    await openRecording(page, leak);
    await chartWide(page);
    await page.getByRole("button", { name: /^unfold the lane/ }).waitFor();
    await page.keyboard.press("g");
    await page.getByRole("dialog").getByRole("button", { name: "my trims", exact: true }).click();
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "another recording is laid under, by crank and by hand",
  async () => {
    for (const n of [1, 2])
      copyFileSync(join(samples, "van-as-it-should-be.ndjson.gz"), join(pages.folder, `well-${n}.ndjson.gz`));
    const { page, errors } = await opened(cranks);
    const alone = await drawn(page);
    await page.keyboard.press("o");
    const dialog = page.getByRole("dialog");
    // What is sound, of this vehicle and about as warm, is offered first; it lies under as any other does.
    const sound = dialog.getByRole("region", { name: "references of the same vehicle" });
    await sound.getByText(/^2 good, same vehicle, \d+ °C/).waitFor();
    await sound.getByRole("button", { name: "Lay under, sound: well-2.ndjson.gz" }).click();
    await dialog.getByText(/moved by 0.00 s/).waitFor();
    await dialog.getByRole("button", { name: "Remove" }).click();
    await dialog.getByRole("button", { name: "Lay under: van-as-it-should-be.ndjson.gz" }).click();
    await dialog.getByRole("button", { name: "Line up the cranks" }).click();
    await dialog.getByText(/crank 1 laid over crank 1/).waitFor();
    // Its traces are on the same lanes' paper, and move with it.
    const byCrank = await drawn(page);
    expect(byCrank).not.toBe(alone);
    const moved = Number(await dialog.getByLabel("shift it by, s").inputValue());
    expect(moved).not.toBe(0);
    await dialog.getByRole("button", { name: "key on", exact: true }).click();
    await dialog.getByText(/the first key on laid over the first/).waitFor();
    await dialog.getByLabel("shift it by, s").fill("2.5");
    await dialog.getByLabel("shift it by, s").press("Enter");
    await dialog.getByText(/moved by 2.50 s/).waitFor();
    expect(await drawn(page)).not.toBe(byCrank);
    await dialog.getByRole("button", { name: "Remove" }).click();
    await dialog
      .getByText(/Lay under/)
      .first()
      .waitFor();
    await expect.poll(() => drawn(page)).toBe(alone);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "pictures of each view as SVG and PNG, with title and source",
  async () => {
    const { page, errors } = await opened(leak);
    await page.keyboard.press("w");
    for (const sheet of ["Lanes", "Cranks", "Mixture"]) {
      await page.getByRole("button", { name: sheet, exact: true }).click();
      if (sheet !== "Lanes") await page.locator(".cranks svg, .mixture svg").first().waitFor();
      await page.getByRole("button", { name: "Tools" }).click();
      await page.getByRole("button", { name: "Picture" }).click();
      const dialog = page.getByRole("dialog");
      await dialog.getByLabel("Title").fill(`A picture of ${sheet}`);
      const [svg] = await Promise.all([
        page.waitForEvent("download"),
        dialog.getByRole("button", { name: "Save as SVG" }).click(),
      ]);
      const text = readFileSync(await svg.path(), "utf8");
      expect(text).toMatch(/^<svg xmlns/);
      expect(text).toContain(`A picture of ${sheet}`);
      expect(text).toContain(leak);
      expect(text).toContain("nvented data");
      expect(text).toMatch(/begun .*\d{4}/);
      // Axes with their units.
      expect(text).toMatch(sheet === "Mixture" ? /air flow, g\/s/ : /rpm/);
      expect(text).not.toContain("var(--");
      const [png] = await Promise.all([
        page.waitForEvent("download"),
        dialog.getByRole("button", { name: "Save as PNG" }).click(),
      ]);
      const bytes = readFileSync(await png.path());
      expect(bytes.subarray(1, 4).toString()).toBe("PNG");
      expect(bytes.readUInt32BE(16)).toBeGreaterThan(600);
      await page.keyboard.press("Escape");
      await dialog.waitFor({ state: "detached" });
    }
    expect(errors).toEqual([]);
  },
  90_000,
);
