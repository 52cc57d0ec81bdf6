/** Lanes under the hand and for the eye, in a real Chromium: peaks at every zoom, order by dragging, a table, from afar. */
import { createWriteStream } from "node:fs";
import { once } from "node:events";
import { join } from "node:path";
import type { Locator, Page } from "playwright-core";
import { expect, test } from "vitest";
import { firstLine, readingLine } from "../measure/longRecording.ts";
import { connectToBench, openRecording, type OpenPage, type Pages } from "../support/pages.ts";
import { chartWide } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

async function opened(file: string): Promise<OpenPage> {
  const open = await pages.open();
  await openRecording(open.page, file);
  return open;
}

const names = (page: Page): Promise<string[]> => page.locator(".lane .label .name").allInnerTexts();

const tenHoursMs = 36_000_000;
/** The middle of the paper, which is a little longer than the recording: there all zooms by key meet. */
const spikeMs = (tenHoursMs * 1.02) / 2;

/** Ten hours of engine speed below 1800 rpm, five readings a second, one single of them at 6000. */
async function writeTenHours(path: string): Promise<void> {
  const stream = createWriteStream(path);
  stream.write(firstLine());
  let spike = false;
  for (let t = 0; t <= tenHoursMs; t += 200) {
    const here = !spike && t >= spikeMs;
    if (here) spike = true;
    if (!stream.write(readingLine(0, t, here))) await once(stream, "drain");
  }
  stream.end();
  await once(stream, "close");
}

/**
 * Share of the first lane's columns with pixels of its trace in the upper half. With the spike in view the axis reaches
 * to 6000 and nothing else comes there; without it the axis closes in, and the usual speed is in most columns.
 */
const highColumns = `(() => {
  const canvas = document.querySelector(".lane canvas");
  const [r, g, b] = [0x00, 0x72, 0xb2];
  const width = canvas.width - 60;
  const height = Math.floor(canvas.height / 2);
  const { data } = canvas.getContext("2d").getImageData(60, 0, width, height);
  const near = (i) =>
    data[i + 3] > 200 && Math.abs(data[i] - r) + Math.abs(data[i + 1] - g) + Math.abs(data[i + 2] - b) < 90;
  let found = 0;
  for (let x = 0; x < width; x++)
    for (let y = 0; y < height; y++)
      if (near(4 * (y * width + x))) {
        found++;
        break;
      }
  return found / width;
})()`;

test.skipIf(chromium === null)(
  "a spike of one single reading in ten hours has its pixels at every zoom",
  async () => {
    await writeTenHours(join(pages.folder, "ten-hours.ndjson"));
    const { page, errors } = await pages.open();
    await openRecording(page, "ten-hours.ndjson", 60_000);
    await page.setViewportSize({ width: 940, height: 720 });
    await chartWide(page);
    await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
    for (let zoom = 0; zoom <= 27; zoom += 3) {
      const share = (): Promise<number> => page.evaluate<number>(highColumns);
      await expect.poll(share, { message: `after ${zoom} steps closer` }).toBeGreaterThan(0);
      expect(await share(), `after ${zoom} steps closer`).toBeLessThan(0.2);
      for (let i = 0; i < 3; i++) await page.keyboard.press("+");
    }
    // The same look where the spike is not in view: the usual speed is all over the upper half.
    await page.keyboard.press("a");
    for (let i = 0; i < 2; i++) await page.keyboard.press("+");
    await page.keyboard.press("Shift+ArrowLeft");
    await expect.poll(() => page.evaluate<number>(highColumns)).toBeGreaterThan(0.4);
    expect(errors).toEqual([]);
  },
  180_000,
);

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
  },
  90_000,
);

test.skipIf(chromium === null)(
  "a lane has one unit: joining is offered where the lane above shares it, and the page says so",
  async () => {
    const { page, errors } = await opened("van-hisses-at-idle.ndjson.gz");
    await page.keyboard.press("g");
    const dialog = page.getByRole("dialog", { name: "Lanes" });
    await dialog.getByText(/^A lane holds up to 5 channels of one unit/).waitFor();
    const join = (name: string): Locator => dialog.getByRole("button", { name: `join ↑ ${name}` });
    // rpm over V, and V over kPa or g/s: nothing to join.
    for (const name of ["Engine speed", "Supply voltage at the socket"]) {
      await dialog.getByRole("button", { name: `↑ ${name}: up` }).waitFor();
      expect(await join(name).count(), name).toBe(0);
    }
    // The speed that another module tells has the same unit, and comes last: under another lane it is not joined.
    const other = "Engine speed of module 7E9";
    await dialog.getByRole("button", { name: other, exact: true }).click();
    const up = dialog.getByRole("button", { name: `↑ ${other}: up` });
    await up.waitFor();
    expect(await join(other).count()).toBe(0);
    const lanesThere = await page.locator(".lane").count();
    for (let place = lanesThere - 1; place > 1; place--) {
      expect(await join(other).count(), `in place ${place}`).toBe(0);
      await up.click();
    }
    await join(other).click();
    await expect.poll(() => page.locator(".lane").count()).toBe(lanesThere - 1);
    await expect
      .poll(() => page.locator(".lane").first().locator(".label .name").allInnerTexts())
      .toEqual(["speed", "speed · 7E9"]);
    await page.keyboard.press("Escape");
    // Both traces are on its one paper, each in its own colour, on an axis of one unit.
    const first = page.locator(".lane").first();
    expect(await first.locator("canvas").count()).toBe(1);
    const keys = await page.evaluate<string[]>(
      "[...document.querySelector('.lane').querySelectorAll('.key')].map((key) => getComputedStyle(key).backgroundColor)",
    );
    expect(new Set(keys).size).toBe(2);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "the voltage at the socket and at the module share a lane, and come apart again",
  async () => {
    const { page, errors } = await opened("van-stood-all-winter.ndjson.gz");
    const before = await names(page);
    await page.keyboard.press("g");
    const dialog = page.getByRole("dialog", { name: "Lanes" });
    const module = "Control module voltage";
    await dialog.getByRole("button", { name: module, exact: true }).click();
    const up = dialog.getByRole("button", { name: `↑ ${module}: up` });
    const join = dialog.getByRole("button", { name: `join ↑ ${module}` });
    await up.waitFor();
    // Up to where it stands right under the voltage at the socket, which is the only one with its unit.
    for (let i = before.length; i > 0 && (await join.count()) === 0; i--) await up.click();
    await join.click();
    const voltages = page.locator(".lane", { hasText: "volts (module)" }).locator(".label .name");
    await expect.poll(() => voltages.allInnerTexts()).toEqual(["B+", "VPWR"]);
    await dialog.getByRole("button", { name: /^split Supply voltage at the socket/ }).click();
    await expect.poll(() => voltages.allInnerTexts()).toEqual(["volts (module)"]);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "the lanes as a table: each reading with its age and range in words, going with the cursor",
  async () => {
    const { page, errors } = await opened("van-hisses-at-idle.ndjson.gz");
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
  },
  120_000,
);

test.skipIf(chromium === null)(
  "from afar: speed, volts and regime fill the screen, which is kept awake for as long",
  async () => {
    const { page, errors } = await opened("van-stood-all-winter.ndjson.gz");
    await page.evaluate(`globalThis.awake = { asked: 0, released: 0 };
      navigator.wakeLock.request = () => {
        awake.asked++;
        return Promise.resolve({ release: () => { awake.released++; return Promise.resolve(); } });
      };`);
    await page.keyboard.press("k");
    await page.keyboard.press("f");
    const far = page.getByRole("region", { name: "far view" });
    await far.locator(".unit").filter({ hasText: "rpm" }).waitFor();
    const size = await page.evaluate(
      'parseFloat(getComputedStyle(document.querySelector(".far .value")).fontSize)',
    );
    expect(size).toBeGreaterThan(150);
    expect(await far.getAttribute("data-regime")).toMatch(/crank|none/);
    const ground = (): Promise<string> =>
      page.evaluate<string>("getComputedStyle(document.querySelector('.far')).backgroundColor");
    const cranking = await ground();
    await expect.poll(() => page.evaluate("awake.asked")).toBe(1);
    // The ground tells the regime from where no figure can be read: another before the crank.
    await page.keyboard.press(",");
    for (let i = 0; i < 40; i++) await page.keyboard.press(",");
    await expect.poll(() => far.getAttribute("data-regime")).toBe("key");
    expect(await ground()).not.toBe(cranking);
    // Out of sight the browser lets go of it; back in sight it is asked for again.
    await page.evaluate("document.dispatchEvent(new Event('visibilitychange'))");
    await expect.poll(() => page.evaluate("awake.asked")).toBe(2);
    await page.keyboard.press("f");
    await far.waitFor({ state: "detached" });
    await expect.poll(() => page.evaluate("awake.released")).toBeGreaterThan(0);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "a channel that is wanted more often: asked for so, remembered, and let go again",
  async () => {
    const { page, errors } = await pages.open();
    const sent: string[] = [];
    page.on("websocket", (socket) => {
      socket.on("framesent", ({ payload }) => sent.push(payload.toString()));
    });
    await page.reload();
    await connectToBench(page);
    await chartWide(page);
    const openLanes = async (): Promise<void> => {
      const arrange = page.getByRole("button", { name: /^Arrange/ });
      const tools = page.getByRole("button", { name: /^Tools/ });
      await tools.or(arrange).first().waitFor();
      if (!(await arrange.isVisible())) await tools.click();
      await arrange.click();
    };
    const throttle = page.getByRole("button", { name: /^more often: .*throttle/i }).first();
    const pinned = (): string | null =>
      sent.flatMap((text) => /"pinned":(\[.*?\])/.exec(text)?.[1] ?? []).at(-1) ?? null;
    await openLanes();
    expect(await throttle.getAttribute("aria-pressed")).toBe("false");
    expect(pinned()).toBeNull();
    await throttle.click();
    await expect.poll(() => throttle.getAttribute("aria-pressed")).toBe("true");
    await expect.poll(pinned).toBe('["throttle"]');

    sent.length = 0;
    await page.reload();
    await expect.poll(pinned).toBe('["throttle"]');
    await openLanes();
    await expect.poll(() => throttle.getAttribute("aria-pressed")).toBe("true");
    await throttle.click();
    await expect.poll(pinned).toBe("[]");
    await page.keyboard.press("Escape");
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    expect(errors).toEqual([]);
  },
  150_000,
);

/** Of each lane: the width of its label, of the widest thing in it, what is cut off there, and the width of its paper. */
const labels = `[...document.querySelectorAll(".lane")].map((lane) => {
  const label = lane.querySelector(".label");
  const box = label.getBoundingClientRect();
  const widthOf = (node) => {
    const range = document.createRange();
    range.selectNodeContents(node);
    return range.getBoundingClientRect();
  };
  const shown = [...label.querySelectorAll(".name, .value, .about, .usual")].filter((e) => e.checkVisibility());
  const lines = shown.map((element) => {
    const hidden = element.querySelector(".unseen");
    hidden?.remove();
    const text = widthOf(element);
    if (hidden !== null) element.append(hidden);
    return { text: element.textContent, top: text.top, width: text.width, right: text.right, bottom: text.bottom,
      cut: element.scrollWidth > element.clientWidth + 1 && getComputedStyle(element).display !== "inline" };
  });
  // What stands on one line needs the width of all of it.
  const rows = Map.groupBy(lines, ({ bottom }) => Math.round(bottom / 8));
  const needed = Math.max(...[...rows.values()].map((row) => row.reduce((sum, { width }) => sum + width, 0)));
  const cut = lines.filter((line) => line.cut || line.right > box.right + 1 || line.bottom > box.bottom + 1);
  return { width: box.width, needed, cut: cut.map(({ text }) => text), paper: lane.querySelector(".plot").getBoundingClientRect().width };
})`;

/** A label is no wider than so many times what stands in it, and so much of the chart's width is paper. */
const [mostRoom, leastPaper] = [1.5, 0.9];

test.skipIf(chromium === null)(
  "at 3840 by 2160 nothing of a label is cut off, and the traces get the room",
  async () => {
    const { page, errors } = await pages.open({ width: 3840, height: 2160 });
    await openRecording(page, "van-hisses-at-idle.ndjson.gz");
    await chartWide(page);
    await page.keyboard.press("k");
    const room = (await page.locator("section.chart").boundingBox())?.width ?? 0;
    const found =
      await page.evaluate<{ width: number; needed: number; cut: string[]; paper: number }[]>(labels);
    expect(found.length).toBeGreaterThan(5);
    expect(found.flatMap(({ cut }) => cut)).toEqual([]);
    // What a label is wider than it needs to be is taken from the traces.
    const width = Math.max(...found.map((lane) => lane.width));
    expect(width).toBeLessThan(mostRoom * Math.max(...found.map(({ needed }) => needed)));
    for (const { paper } of found) expect(paper / room).toBeGreaterThan(leastPaper);
    expect(errors).toEqual([]);
  },
  90_000,
);
