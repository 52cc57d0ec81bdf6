/** The strip of the whole recording, in a real Chromium: what stands where on it, and how it is gone through. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { openRecording, type Pages } from "../support/pages.ts";
import { length, places, seen } from "../support/paper.ts";
import { chartWide, openPart, sheetToo } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

const cranks = "van-stood-all-winter.ndjson.gz";

/** Places on the strip of the whole recording, as parts of its width: middles of marks and signs, edges of the rest. */
interface Strip {
  readonly marks: readonly number[];
  readonly stretches: readonly { readonly from: number; readonly to: number }[];
  readonly signs: readonly number[];
  readonly cranks: readonly { readonly from: number; readonly to: number }[];
  readonly window: { readonly from: number; readonly to: number };
  /** Colours of marks, signs and cranks, each once. */
  readonly colours: readonly string[];
}

const strip = `(() => {
  const whole = document.querySelector(".overview");
  const box = whole.getBoundingClientRect();
  const part = (x) => (x - box.left) / box.width;
  const edges = (e) => { const b = e.getBoundingClientRect(); return { from: part(b.left), to: part(b.right) }; };
  const middle = (e) => { const { from, to } = edges(e); return (from + to) / 2; };
  const all = (what) => [...whole.querySelectorAll(what)].filter((e) => e.checkVisibility({ opacityProperty: true }));
  const rising = (list) => list.toSorted((a, b) => (a.from ?? a) - (b.from ?? b));
  const ink = (e, how) => getComputedStyle(e)[how];
  return {
    marks: rising(all("line").map(middle)),
    stretches: rising(all("rect").map(edges)),
    signs: rising(all("path.sign").map(middle)),
    cranks: rising(all("[data-regime=crank], [data-regime=none]").map(edges)),
    window: edges(whole.querySelector(".window")),
    colours: [...new Set([...all("line").map((e) => ink(e, "stroke")), ...all("path.sign").map((e) => ink(e, "fill")),
      ...all("[data-regime=crank]").map((e) => ink(e, "backgroundColor"))])],
  };
})()`;

test.skipIf(chromium === null)(
  "the strip of the whole recording shows regimes, marks, stretches and signs at their time; its window is dragged and goes by keys",
  async () => {
    const sample = join(import.meta.dirname, "../../recordings", cranks);
    writeFileSync(join(pages.folder, "strip.ndjson"), gunzipSync(readFileSync(sample)));
    const { page, errors } = await pages.open();
    await openRecording(page, "strip.ndjson");
    await chartWide(page);
    const look = (): Promise<Strip> => page.evaluate<Strip>(strip);
    const width = (await page.locator(".overview").boundingBox())?.width ?? 0;
    const pixels = (n: number): number => n / width;
    const near = (a: number | undefined, b: number, by = pixels(2)): void => {
      expect(Math.abs((a ?? Number.NaN) - b)).toBeLessThanOrEqual(by);
    };
    const said = page.locator(".said");
    expect(await look()).toMatchObject({ marks: [], stretches: [] });

    // A mark on the first crank stands where the strip shows that crank, and where its time lies in the file.
    await page.keyboard.press("k");
    await said.getByText("Crank 1: ").waitFor();
    await page.keyboard.press("m");
    await page.keyboard.type("it turned");
    await page.keyboard.press("Enter");
    await expect.poll(async () => (await look()).marks.length).toBe(1);
    const atCrank = await look();
    near(atCrank.marks[0], atCrank.cranks[0]?.from ?? Number.NaN);
    const written = (): string => readFileSync(join(pages.folder, "strip.ndjson"), "utf8").trimEnd();
    await expect.poll(written).toContain("it turned");
    const lines = written().split("\n");
    const told = lines.map((line) => JSON.parse(line) as { k: string; t?: number; at?: number });
    const end = Math.max(...told.map(({ k, t }) => (k === "mark" || k === "end" ? 0 : (t ?? 0))));
    const kept = told.findLast(({ k }) => k === "mark")?.at ?? Number.NaN;
    // The strip is a little longer than the recording.
    near(atCrank.marks[0], kept / (end * 1.02), 0.01);
    expect(kept / end).toBeGreaterThan(0.05);
    // So much is told in colours of its own.
    expect(atCrank.colours.length).toBeGreaterThanOrEqual(3);

    // The next sign, with the cursor on it: the strip points there.
    await page.keyboard.press("Escape");
    await page.keyboard.press("a");
    await page.keyboard.press("s");
    await page.locator(".cursor.pinned").waitFor();
    await page.keyboard.press("a");
    const paper = (await page.locator(".overlay").boundingBox())?.width ?? 0;
    const cursor = (await places(page)).cursor / paper;
    expect((await look()).signs.filter((at) => Math.abs(at - cursor) <= pixels(3))).toHaveLength(1);

    // A stretch from the first crank to the second.
    await page.keyboard.press("Escape");
    await page.keyboard.press("a");
    await page.keyboard.press("k");
    await said.getByText("Crank 1: ").waitFor();
    await page.keyboard.press("i");
    await page.keyboard.press("k");
    await said.getByText("Crank 2: ").waitFor();
    await page.keyboard.press("i");
    await page.keyboard.type("rested between");
    await page.keyboard.press("Enter");
    await expect.poll(async () => (await look()).stretches.length).toBe(1);
    const both = await look();
    near(both.stretches[0]?.from, both.cranks[0]?.from ?? Number.NaN);
    const second = both.cranks.find(({ from }) => from > (both.cranks[0]?.to ?? 1) + pixels(4));
    near(both.stretches[0]?.to, second?.from ?? Number.NaN);

    // Named anew and taken away, there and under the lanes; what is kept is there after a reload.
    await page.keyboard.press("a");
    const named = page.locator(".row").getByRole("button", { name: "it turned", exact: true });
    await named.click();
    await page.keyboard.type("it turned well");
    await page.keyboard.press("Enter");
    await page
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "it turned well" })
      .waitFor({ state: "attached" });
    await sheetToo(page);
    await openPart(page, "Marks");
    await page.getByRole("button", { name: "name rested between anew, or take it away" }).click();
    await page.getByRole("button", { name: "Remove", exact: true }).click();
    await expect.poll(async () => (await look()).stretches.length).toBe(0);
    await page.getByRole("listitem").filter({ hasText: "rested between" }).waitFor({ state: "detached" });
    await page.reload();
    await openRecording(page, "strip.ndjson");
    await chartWide(page);
    await page
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "it turned well" })
      .waitFor({ state: "attached" });
    const again = await look();
    expect(again.marks).toHaveLength(1);
    near(again.marks[0], atCrank.marks[0] ?? Number.NaN);

    // The window is taken by the hand, and by keys goes to both ends.
    const span = async (): Promise<number> => {
      const { from, to } = (await look()).window;
      return to - from;
    };
    for (let i = 0; i < 6; i++) {
      const before = await span();
      await page.keyboard.press("+");
      await expect.poll(span).toBeLessThan(before);
    }
    await expect.poll(async () => (await look()).window.to).toBeLessThan(0.7);
    const { window } = await look();
    const middle = (window.from + window.to) / 2;
    // The strip itself waits until it stands still: what comes late above it moves it down.
    const over = (part: number): Promise<void> =>
      page.locator(".overview").hover({ position: { x: part * width, y: 10 }, force: part !== middle });
    await over(middle);
    await page.mouse.down();
    await over(middle + 0.1);
    await over(middle + 0.2);
    await page.mouse.up();
    await expect.poll(async () => (await look()).window.from).toBeGreaterThan(window.from + 0.19);
    near((await look()).window.from, window.from + 0.2, pixels(3));
    await page.getByRole("slider", { name: /place of the view/ }).focus();
    await page.keyboard.press("Home");
    await expect.poll(async () => (await seen(page)).from).toBe(0);
    const length_ = await length(page);
    await page.keyboard.press("PageDown");
    await expect.poll(async () => Math.round((await seen(page)).from)).toBeGreaterThanOrEqual(length_ - 1);
    await page.keyboard.press("PageUp");
    await expect.poll(async () => (await seen(page)).from).toBe(0);
    await page.keyboard.press("End");
    await expect.poll(async () => (await look()).window.to).toBeGreaterThan(0.99);
    expect(errors).toEqual([]);
  },
  90_000,
);
