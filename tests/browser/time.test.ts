/** Through the time of a recording by hand and by key, in a real Chromium, on a sample that ships. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { connectToBench, openRecording, type Pages } from "../support/pages.ts";
import { length, places, seen } from "../support/paper.ts";
import { chartWide } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

const cranks = "van-stood-all-winter.ndjson.gz";

/** Share of the first lane's pixels that its trace covers. */
const inked = `(() => {
  const canvas = document.querySelector(".lane canvas");
  const [r, g, b] = [0x00, 0x72, 0xb2];
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let found = 0;
  for (let i = 0; i < data.length; i += 4)
    if (data[i + 3] > 200 && Math.abs(data[i] - r) + Math.abs(data[i + 1] - g) + Math.abs(data[i + 2] - b) < 90) found++;
  return found / (data.length / 4);
})()`;

test.skipIf(chromium === null)(
  "wheel, drag, pinch and pull; a held cursor with the real reading and its age; lines, steps or readings alone",
  async () => {
    const { page, errors } = await pages.open();
    await openRecording(page, cranks);
    await chartWide(page);
    const box = await page.locator(".overlay").boundingBox();
    if (box === null) throw new Error("there is nothing to take hold of");
    const x = (part: number): number => box.x + part * box.width;
    const y = box.y + 60;
    const all = await seen(page);

    // The wheel comes closer around the hand.
    await page.mouse.move(x(0.5), y);
    for (let i = 0; i < 3; i++) await page.mouse.wheel(0, -300);
    await expect.poll(() => length(page)).toBeLessThan((all.to - all.from) / 2);
    const close = await seen(page);
    expect((close.from + close.to) / 2).toBeGreaterThan(all.to * 0.4);
    expect((close.from + close.to) / 2).toBeLessThan(all.to * 0.6);

    // The paper goes with the hand: to the right shows what was earlier.
    await page.mouse.down();
    await page.mouse.move(x(0.7), y);
    await page.mouse.move(x(0.9), y);
    await page.mouse.up();
    await expect.poll(async () => (await seen(page)).from).toBeLessThan(close.from);
    expect(Math.abs((await length(page)) - (close.to - close.from))).toBeLessThanOrEqual(1);

    // Two fingers going apart come closer, going together see more.
    const touch = await page.context().newCDPSession(page);
    const fingers = (type: "touchStart" | "touchMove" | "touchEnd", parts: number[]): Promise<unknown> =>
      touch.send("Input.dispatchTouchEvent", {
        type,
        touchPoints: parts.map((part, id) => ({ x: x(part), y, id })),
      });
    const before = await length(page);
    await fingers("touchStart", [0.45]);
    await fingers("touchStart", [0.45, 0.55]);
    for (const by of [0.1, 0.15, 0.2]) await fingers("touchMove", [0.5 - by, 0.5 + by]);
    await fingers("touchEnd", []);
    await expect.poll(() => length(page)).toBeLessThan(before * 0.5);

    // Double click: all of it. Along the time line, or with Shift, a stretch is pulled out.
    await page.mouse.dblclick(x(0.5), y);
    await expect.poll(() => seen(page)).toEqual(all);
    const pull = async (height: number): Promise<void> => {
      await page.mouse.move(x(0.25), height);
      await page.mouse.down();
      await page.mouse.move(x(0.4), height);
      await page.mouse.move(x(0.5), height);
      await page.mouse.up();
    };
    await page.keyboard.down("Shift");
    await pull(y);
    await page.keyboard.up("Shift");
    await expect.poll(() => length(page)).toBeLessThan((all.to - all.from) * 0.3);
    expect((await seen(page)).from).toBeGreaterThan(all.to * 0.2);
    await page.keyboard.press("a");
    await expect.poll(() => seen(page)).toEqual(all);
    const axis = await page.getByTitle("drag to zoom into a stretch").boundingBox();
    await pull((axis?.y ?? 0) + 8);
    await expect.poll(() => length(page)).toBeLessThan((all.to - all.from) * 0.3);

    // By keys, and the held cursor goes from reading to reading.
    const here = await seen(page);
    await page.keyboard.press("Shift+ArrowRight");
    await expect.poll(async () => (await seen(page)).from).toBeGreaterThanOrEqual(here.to - 1);
    await page.keyboard.press("-");
    await expect.poll(() => length(page)).toBeGreaterThan(here.to - here.from);
    await page.mouse.click(x(0.5), y);
    await page.locator(".cursor.pinned").waitFor();
    const tag = page.locator(".lane .tag").first();
    await page.keyboard.press(".");
    await expect.poll(() => tag.innerText()).toMatch(/^\d+ rpm · 0\.00 s old$/);
    const value = page.locator(".lane .label .value").first();
    expect(await tag.innerText()).toContain(await value.innerText());
    const drawn = await page.evaluate<number>(inked);
    expect(drawn).toBeGreaterThan(0);
    await page.keyboard.press("Escape");
    await page.locator(".cursor.pinned").waitFor({ state: "detached" });

    // What is drawn between two readings is the person's choice.
    const ink: Record<string, number> = {};
    for (const how of ["a straight line", "the earlier one holds", "nothing is drawn"]) {
      await page.keyboard.press("g");
      await page.getByLabel("Between two readings").selectOption({ label: how });
      await page.keyboard.press("Escape");
      await page.getByRole("dialog").waitFor({ state: "detached" });
      await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
      ink[how] = await page.evaluate<number>(inked);
    }
    expect(new Set(Object.values(ink)).size).toBe(3);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "played back at a quarter to sixteen times, by keys; the readouts are those of that time; units switch at once",
  async () => {
    const { page, errors } = await pages.open();
    await openRecording(page, cranks);
    await chartWide(page);
    const rate = page.getByLabel("how fast it is played");
    expect(await rate.locator("option").allInnerTexts()).toEqual([
      "× 0.25",
      "× 0.5",
      "× 1",
      "× 2",
      "× 4",
      "× 8",
      "× 16",
    ]);
    for (let i = 0; i < 6; i++) await page.keyboard.press("[");
    await expect.poll(() => rate.inputValue()).toBe("0.25");
    for (let i = 0; i < 9; i++) await page.keyboard.press("]");
    await expect.poll(() => rate.inputValue()).toBe("16");
    await page.keyboard.press("Space");
    await page.getByRole("button", { name: "Pause" }).waitFor();
    const value = page.locator(".lane .label .value").first();
    // It stands at the beginning until the first crank, where the speed comes.
    await expect.poll(() => value.innerText()).toMatch(/^1\d\d rpm$/);
    await page.keyboard.press("Space");
    await page.getByRole("button", { name: "Play" }).waitFor();
    // Halted, the figure and the reading at the cursor are one.
    await expect
      .poll(async () => (await page.locator(".lane .tag").first().innerText()).split(" · ")[0])
      .toBe(await value.innerText());

    const coolant = page.locator(".lane", { hasText: "coolant" }).locator(".value").first();
    const celsius = Number.parseFloat(await coolant.innerText());
    expect(await coolant.innerText()).toMatch(/°C$/);
    await page.keyboard.press("u");
    await expect.poll(() => coolant.innerText()).toMatch(/°F$/);
    expect(Number.parseFloat(await coolant.innerText())).toBeCloseTo(celsius * 1.8 + 32, 0);
    expect(errors).toEqual([]);
  },
  90_000,
);

test.skipIf(chromium === null)(
  "to the next mark, crank and sign and to the one before, by keys; each is brought into view with the cursor on it",
  async () => {
    const sample = join(import.meta.dirname, "../../recordings", cranks);
    writeFileSync(join(pages.folder, "own.ndjson"), gunzipSync(readFileSync(sample)));
    const { page, errors } = await pages.open();
    await openRecording(page, "own.ndjson");
    await chartWide(page);
    const said = page.locator(".said");
    const mark = async (label: string): Promise<void> => {
      await page.keyboard.press("m");
      await page.keyboard.type(label);
      await page.keyboard.press("Enter");
      await page
        .getByRole("listitem", { includeHidden: true })
        .filter({ hasText: label })
        .waitFor({ state: "attached" });
    };
    for (const [number, label] of [
      [1, "dead on the display"],
      [2, "turned again"],
    ] as const) {
      await page.keyboard.press("k");
      await said.getByText(`Crank ${number}: `).waitFor();
      await mark(label);
    }
    // There is no crank between: from the second it is one back, and none before that.
    await page.keyboard.press("Shift+K");
    await said.getByText("Crank 1: ").waitFor();
    const first = await seen(page);
    await page.keyboard.press("Shift+K");
    await said.getByText("There is no earlier crank.").waitFor();
    expect(await seen(page)).toEqual(first);

    // In all of it the cursor goes from mark to mark, and stays where there is no more.
    await page.keyboard.press("Escape");
    await page.keyboard.press("a");
    await page.locator(".cursor.pinned").waitFor({ state: "detached" });
    expect((await places(page)).marks).toHaveLength(2);
    const cursor = async (): Promise<number> => (await places(page)).cursor;
    /** The view, once it is another and the cursor stands on a mark in it. */
    const onMark = async (before: unknown): Promise<unknown> => {
      await expect.poll(() => seen(page)).not.toEqual(before);
      await expect.poll(async () => (await places(page)).marks).toContain(await cursor());
      return seen(page);
    };
    const whole = await length(page);
    await page.keyboard.press("n");
    const one = await onMark(null);
    expect(await length(page)).toBeLessThan(whole);
    await page.keyboard.press("n");
    const two = await onMark(one);
    await page.keyboard.press("n");
    await said.getByText("There is no later mark.").waitFor();
    expect(await seen(page)).toEqual(two);
    await page.keyboard.press("p");
    expect(await onMark(two)).toEqual(one);
    // Seen from close by, the paper goes there as well.
    await page.keyboard.press("Shift+K");
    await page.keyboard.press("k");
    await said.getByText("Crank 1: ").or(said.getByText("Crank 2: ")).first().waitFor();
    const close = await seen(page);
    for (const key of ["p", "n"]) await page.keyboard.press(key);
    await expect.poll(async () => (await places(page)).marks).toContain(await cursor());
    expect((await length(page)) <= close.to - close.from + 1).toBe(true);

    await page.keyboard.press("Escape");
    await page.keyboard.press("a");
    const signs: { readonly words: string; readonly at: { from: number; to: number } }[] = [];
    for (let i = 0; i < 2; i++) {
      const before = await seen(page);
      await page.keyboard.press("s");
      await expect.poll(() => seen(page)).not.toEqual(before);
      signs.push({ words: await said.innerText(), at: await seen(page) });
    }
    expect(signs[0]?.words).toMatch(/\.$/);
    await page.keyboard.press("Shift+S");
    await expect.poll(() => seen(page)).toEqual(signs[0]?.at);
    expect(await said.innerText()).toBe(signs[0]?.words);
    await page.keyboard.press("Shift+S");
    await said.getByText("There is no earlier sign.").waitFor();

    // From reading to reading into a crank: what was told live at it stands over the paper, and goes with the cursor.
    await page.keyboard.press("Escape");
    expect(await page.locator("[data-crank]").count()).toBe(0);
    for (const key of ["Shift+K", "Shift+K", "k", "Shift+K"]) await page.keyboard.press(key);
    await page.locator(".cursor.pinned").waitFor();
    const step = async (): Promise<number> => {
      await page.keyboard.press(".");
      return page.locator("[data-crank]").count();
    };
    await expect.poll(step).toBe(1);
    await page.keyboard.press("Escape");
    await page.locator("[data-crank]").waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  90_000,
);

test.skipIf(chromium === null)(
  "away from the live end the paper stands while it is recorded; back at it, by key and by button, it goes along again",
  async () => {
    const { page, errors } = await pages.open();
    await connectToBench(page);
    await chartWide(page);
    await page.locator(".lane canvas").first().waitFor();
    const live = page.getByRole("button", { name: /^Live end/ });
    const strip = page.getByRole("slider", { name: /place of the view/ });
    /** Seconds that are recorded. */
    const end = async (): Promise<number> => Number(await strip.getAttribute("aria-valuemax"));
    await expect.poll(() => live.getAttribute("aria-pressed")).toBe("true");
    // From the usual span to one that lies well within what is recorded.
    for (let i = 0; i < 8; i++) await page.keyboard.press("+");
    await expect.poll(() => length(page)).toBeLessThanOrEqual(4);
    await expect.poll(end).toBeGreaterThanOrEqual(6);
    for (const back of ["l", "End", "the button"]) {
      await page.keyboard.press("Shift+ArrowLeft");
      await expect.poll(() => live.getAttribute("aria-pressed"), { message: back }).toBe("false");
      const paper = await page.locator(".overlay").boundingBox();
      await page.mouse.click((paper?.x ?? 0) + 200, (paper?.y ?? 0) + 40);
      await page.locator(".cursor.pinned").waitFor();
      const away = await seen(page);
      const then = await end();
      await expect.poll(end, { message: back }).toBeGreaterThanOrEqual(then + 2);
      expect(await seen(page), back).toEqual(away);

      if (back === "the button") await live.click();
      else await page.keyboard.press(back);
      await expect.poll(() => live.getAttribute("aria-pressed"), { message: back }).toBe("true");
      await page.locator(".cursor.pinned").waitFor({ state: "detached" });
      const there = await seen(page);
      expect(there.to, back).toBeGreaterThan(away.to);
      await expect.poll(async () => (await seen(page)).to, { message: back }).toBeGreaterThan(there.to);
    }
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  90_000,
);
