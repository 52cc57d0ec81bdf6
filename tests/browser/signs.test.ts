/** Signs on the job sheet, in a real Chromium: newest evidence first, and "show me" brings window, lanes and band. */
import { copyFileSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Locator, Page } from "playwright-core";
import { expect, test } from "vitest";
import { channelInfo } from "../../shared/decode.ts";
import { interpret, VehicleRanges, type Sign } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { openRecording, type Pages } from "../support/pages.ts";
import { chartWide, sheetToo } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

const file = "van-hisses-at-idle.ndjson.gz";
let pages: Pages;
withPages((started) => {
  pages = started;
});

/** The stretch that the strip tells, in seconds. */
async function stretch(page: Page): Promise<{ from: number; to: number }> {
  const text = await page.getByRole("slider", { name: /place of the view/ }).getAttribute("aria-valuetext");
  const seconds = (clock: string | undefined): number =>
    (clock ?? "").split(":").reduce((sum, part) => sum * 60 + Number(part), 0);
  const [from, to] = (text ?? "").split(/ to | of /);
  return { from: seconds(from), to: seconds(to) };
}

/** For each lane: its names, and how many pixels of its paper have the colour of the band. */
function lanes(page: Page): Promise<{ names: string[]; band: number }[]> {
  return page.evaluate<{ names: string[]; band: number }[]>(`(() => {
    const probe = document.createElement("canvas");
    probe.width = probe.height = 1;
    const ink = probe.getContext("2d");
    ink.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--band").trim();
    ink.fillRect(0, 0, 1, 1);
    const wanted = ink.getImageData(0, 0, 1, 1).data;
    return [...document.querySelectorAll(".lane")].map((lane) => {
      const canvas = lane.querySelector("canvas");
      const data = canvas === null ? [] : canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
      let band = 0;
      for (let i = 0; i < data.length; i += 4)
        if ([0, 1, 2, 3].every((k) => Math.abs(data[i + k] - wanted[k]) <= 2)) band += 1;
      // The abbreviation stands in the name as well, for where there is no room for it.
      const nameOf = (n) => n.textContent.replace(n.querySelector(".brief")?.textContent ?? "", "").trim();
      return { names: [...lane.querySelectorAll(".label .name")].map(nameOf), band };
    });
  })()`);
}

const timeOf = (sign: Sign): number => sign.windows[0]?.from ?? -1;

test.skipIf(chromium === null)(
  "newest first; show me brings the window, the lanes that the sign is about, and their range bands",
  async () => {
    const reading = new Reading(file);
    await readRecording(join(import.meta.dirname, "../../recordings", file), reading.sink);
    const findings = interpret(reading);
    const told = findings.signs
      .filter((s) => (s.verdict === "outside" || s.verdict === "near") && s.windows.length > 0)
      .sort((a, b) => timeOf(b) - timeOf(a));
    expect(told.length).toBeGreaterThanOrEqual(2);
    const ranges = new VehicleRanges(reading.facts.vehicle ?? {});

    const { page, errors } = await pages.open();
    await openRecording(page, file);
    const buttons = page.getByRole("button", { name: /^show me .* on the chart$/ });
    await expect
      .poll(async () => Promise.all((await buttons.all()).map((b) => b.getAttribute("aria-label"))))
      .toEqual(told.map((s) => `show me ${s.title} on the chart`));

    let banded = 0;
    for (const [i, sign] of told.entries()) {
      const shown = sign.windows[0];
      if (shown === undefined) continue;
      await buttons.nth(i).click();
      const window = { from: shown.from / 1000, to: shown.to / 1000 };
      // The whole window is in view, and the view is about it: not the whole recording with it somewhere inside.
      await expect
        .poll(async () => (await stretch(page)).from, { message: sign.key })
        .toBeLessThanOrEqual(window.from + 0.5);
      await expect.poll(async () => (await stretch(page)).to).toBeGreaterThanOrEqual(window.to - 0.5);
      const seen = await stretch(page);
      expect(seen.to - seen.from, sign.key).toBeLessThanOrEqual(Math.max(60, 4 * (window.to - window.from)));

      const asked = sign.channels.filter((c) => reading.channels.of(c).length > 0);
      const called = (c: string): string => channelInfo(c)?.short ?? c;
      await expect
        .poll(
          async () => {
            const names = (await lanes(page)).flatMap((lane) => lane.names.map((n) => n.split(" · ")[0]));
            return asked.filter((c) => !names.includes(called(c)));
          },
          { message: sign.key },
        )
        .toEqual([]);

      // A lane whose channel has a plausible range in that window shows it as a band.
      const spans = findings.regimes.filter((r) => r.from < shown.to && r.to > shown.from);
      const withRange = asked.filter((c) => spans.some((r) => ranges.channel(c, r.regime) !== null));
      if (withRange.length === 0) continue;
      banded += 1;
      await expect
        .poll(
          async () => {
            const all = await lanes(page);
            return withRange.filter(
              (c) =>
                !all.some(
                  (lane) => lane.band > 200 && lane.names.some((n) => n.split(" · ")[0] === called(c)),
                ),
            );
          },
          { message: `bands of ${sign.key}` },
        )
        .toEqual([]);
    }
    expect(banded).toBeGreaterThan(0);
    expect(errors).toEqual([]);
  },
  120_000,
);

/** Whatever is told by itself when the pointer rests where it is. */
async function hint(page: Page, over: Locator): Promise<string> {
  const box = await over.boundingBox();
  if (box === null) throw new Error("there is nothing to rest on");
  const [x, y] = [box.x + 8, box.y + box.height / 2];
  await page.mouse.move(x, y);
  return page.evaluate<string>(`document.elementFromPoint(${x}, ${y})?.closest("[title]")?.title ?? ""`);
}

/** Heights at which a lane's band begins, each once: another in each regime that has another range. */
const bandTops = `(() => {
  const canvas = document.querySelector(".lane canvas");
  const { data, width, height } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  const tops = new Map();
  for (let x = 0; x < width; x++)
    for (let y = 0; y < height; y++) {
      const i = 4 * (y * width + x);
      if (Math.abs(data[i] - 0xe3) + Math.abs(data[i + 1] - 0xec) + Math.abs(data[i + 2] - 0xe4) > 4) continue;
      tops.set(y, (tops.get(y) ?? 0) + 1);
      break;
    }
  return [...tops.values()].filter((columns) => columns > 2).length;
})()`;

/** Filled triangles in the colour of what is out of range: broad at their foot, a point five rows on. */
const wedges = `(() => {
  let found = 0;
  for (const canvas of document.querySelectorAll(".lane canvas")) {
    const { data, width, height } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    const is = (x, y) => {
      const i = 4 * (y * width + x);
      return data[i + 3] > 100 && Math.abs(data[i] - 0xa3) + Math.abs(data[i + 1] - 0x47) + Math.abs(data[i + 2]) < 30;
    };
    const run = (x, y) => {
      if (!is(x, y)) return 0;
      let [a, b] = [x, x];
      while (is(a - 1, y)) a--;
      while (is(b + 1, y)) b++;
      return b - a + 1;
    };
    for (let y = 6; y < height - 6; y++)
      for (let x = 60; x < width; x++)
        for (const out of [-1, 1])
          if (run(x, y) >= 4 && run(x, y) <= 8 && is(x, y + 3 * out) && run(x, y + 3 * out) < run(x, y) && run(x, y - 2 * out) === 0) found++;
  }
  return found;
})()`;

test.skipIf(chromium === null)(
  "the band is another in a crank than at idle; where it is from is told on hover and in words; what leaves it has a shape",
  async () => {
    const { page, errors } = await pages.open();
    await openRecording(page, file);
    await chartWide(page);
    expect(await page.evaluate<number>(bandTops)).toBeGreaterThanOrEqual(2);
    const lane = page.locator(".lane").first();
    const label = lane.locator(".label .usual");
    const told = /^Plausible while (.+?): (.+?) rpm\. Source: (.+)\.$/;

    await page.keyboard.press("k");
    await page.getByText(/^Crank 1: /).waitFor();
    await page.keyboard.press(".");
    await expect.poll(() => hint(page, label)).toMatch(/^Plausible while cranking: /);
    const [, , cranking, source] = told.exec(await hint(page, label)) ?? [];
    expect(source?.length).toBeGreaterThan(10);
    // A screen reader gets the same words with the reading, and what is drawn is not read to it.
    const read = await lane.ariaSnapshot();
    expect(read.replaceAll('\\"', '"')).toContain(
      `Plausible while cranking: ${cranking} rpm. Source: ${source}.`,
    );
    expect(await lane.locator(".canvas").getAttribute("aria-hidden")).toBe("true");

    await page.keyboard.press("Escape");
    await page.keyboard.press("a");
    const paper = await page.locator(".overlay").boundingBox();
    if (paper === null) throw new Error("there is no paper");
    await page.mouse.click(paper.x + paper.width * 0.8, paper.y + 30);
    await expect.poll(() => hint(page, label)).toMatch(/^Plausible while (?:cold|warm) idle: /);
    const [, , idling] = told.exec(await hint(page, label)) ?? [];
    expect(idling).not.toBe(cranking);

    // A trim that left its range: a wedge on its trace, and the word with a sign of its own in the label.
    await page.keyboard.press("Escape");
    await sheetToo(page);
    await page
      .getByRole("button", { name: /^show me .* on the chart$/ })
      .first()
      .click();
    await chartWide(page);
    await expect.poll(() => page.evaluate<number>(wedges)).toBeGreaterThan(0);
    await page.keyboard.press("Escape");
    const outside = page.locator(".lane .usual.outside").first();
    // Along the trace with the hand, to where it is out.
    for (let share = 0.05; share < 1 && (await outside.count()) === 0; share += 0.05) {
      await page.mouse.move(paper.x + paper.width * share, paper.y + 30);
      await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
    }
    expect(await outside.innerText()).toMatch(/^[▲▼] (?:above|below) /);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "what is usual for this vehicle is learned from recordings, used beside the trade's ranges, switched off, handed out, taken in",
  async () => {
    const copies = [1, 2, 3].map((n) => `sound-${n}.ndjson.gz`);
    for (const name of copies)
      copyFileSync(join(import.meta.dirname, "../../recordings", file), join(pages.folder, name));
    const { page, errors } = await pages.open();
    await openRecording(page, file);
    const outside = page.locator("article.outside", { hasText: /Lean: fuel trim adds fuel.*bank 1, idle/s });
    const own = page.locator("article.near", {
      hasText: /bank 1, idle.*Its own .*This vehicle, 3 recordings/s,
    });
    await outside.first().waitFor();
    expect(await own.count()).toBe(0);

    await page.getByText(/^This vehicle's own ranges: not used/).click();
    await page.getByRole("button", { name: "Learn from good recordings" }).click();
    for (const name of copies) await page.getByRole("checkbox", { name: `learn from ${name}` }).check();
    await page.getByRole("dialog").getByRole("textbox", { name: "called" }).fill("Hissing van");
    await page.getByRole("button", { name: "Learn from 3" }).click();
    // The same idle three times is usual for this vehicle, and still not what the trade calls sound.
    await own.first().waitFor({ state: "attached" });
    await outside.first().waitFor({ state: "detached" });
    expect(await own.first().textContent()).toContain(
      "Usual for this vehicle, and outside the trade's range.",
    );
    const figures = page.getByRole("list", { name: "figures with a range of their own" });
    expect(await figures.getByText(/^fuel trim \(b1, idle\): .* 3 recordings$/).count()).toBe(1);

    const saved = page.waitForEvent("download");
    await page.getByRole("link", { name: "save as a file" }).click();
    const given = readFileSync(await (await saved).path(), "utf8");
    expect(given).toBe(readFileSync(join(pages.folder, "normal/hissing-van.json"), "utf8"));

    const choice = page.getByRole("combobox", { name: "own ranges of this vehicle" });
    await choice.selectOption("");
    await outside.first().waitFor();
    expect(await own.count()).toBe(0);

    const taken = given.replace("Hissing van", "Another's van");
    const buffer = Buffer.from(taken);
    await page
      .getByLabel("own ranges from a file")
      .setInputFiles({ name: "theirs.json", mimeType: "application/json", buffer });
    await own.first().waitFor({ state: "attached" });
    await page.getByText(/^This vehicle's own ranges: Another's van, 3 recordings/).waitFor();
    expect(readFileSync(join(pages.folder, "normal/another-s-van.json"), "utf8")).toBe(taken);
    const { used } = JSON.parse(readFileSync(join(pages.folder, "normal/.used.json"), "utf8")) as {
      used: object;
    };
    expect(Object.values(used)).toEqual(["another-s-van"]);
    expect(errors).toEqual([]);
  },
  120_000,
);
