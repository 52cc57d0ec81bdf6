/** The note in a real Chromium with the network closed: nothing asked for, nothing run, readable, and whole on paper. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { composeNote } from "../../src/sheet/note/compose.ts";
import { noteHtml } from "../../src/sheet/note/html.ts";
import { sections } from "../../src/sheet/sections.ts";
import { clip, created, jobWith, readingOf, recordingItem, sourcesOf, tie } from "../sheet/support.ts";
import { sharedBrowser } from "../support/browser.ts";
import { printedCharts, seriousFindings, withoutPolicy } from "../support/noteChecks.ts";
import { tempFolder } from "../support/program.ts";
import { chromium } from "../support/tools.ts";

const folder = tempFolder();
const file = join(folder.path, "note.html");
let browser: Browser | null = null;
const evil = `"'><script>window.ran=1</script><img src="http://127.0.0.1:9/x" onerror="window.ran=2">`;

function note(words: string, charts: number): string {
  const clips = Object.fromEntries(
    Array.from({ length: charts }, (_, n) => [
      `c${n}`,
      {
        ...{ ...clip, order: n, section: sections[n % sections.length] ?? "signs", caption: words },
        // One of them taller than any page, were it not made to fit.
        lanes:
          n === 5
            ? Array.from({ length: 16 }, () => ["engine-speed"])
            : [["engine-speed"], ["socket-voltage"], ["coolant"]].slice(0, 1 + (n % 3)),
        ...(n % 4 === 3 ? { against: { tie, from: 1000, to: 5000 } } : {}),
      },
    ]),
  );
  const item = { order: 1 };
  const job = jobWith({
    vehicle: { name: words.slice(0, 120), cylinders: 6 },
    texts: Object.fromEntries(sections.map((id) => [id, `${words}\n`.repeat(6)])),
    recordings: { a: recordingItem },
    causes: { a: { ...item, cause: null, name: words, standing: "proved", proof: words } },
    cautions: { a: { ...item, text: words } },
    clips,
  });
  const mark = { t: 9000, k: "mark", id: "m", at: 3000, label: words };
  return noteHtml(
    composeNote(job, sourcesOf(readingOf(8, [mark])), { system: "metric", made: created, writer: "test" }),
  );
}

beforeAll(async () => {
  if (chromium !== null) browser = await sharedBrowser();
});
afterAll(async () => {
  await browser?.close();
  folder.remove();
});

async function opened(html: string, width = 1000): Promise<{ page: Page; asked: string[] }> {
  if (browser === null) throw new Error("no browser was started");
  writeFileSync(file, html);
  const page = await browser.newPage({ viewport: { width, height: 900 } });
  const asked: string[] = [];
  page.on("request", (request) => {
    if (!request.url().startsWith("data:")) asked.push(request.url());
  });
  await page.goto(pathToFileURL(file).href);
  return { page, asked };
}

test.skipIf(chromium === null)(
  "nothing is asked for but the file itself, and nothing in it runs",
  async () => {
    const { page, asked } = await opened(note(evil, 4));
    expect(asked).toEqual([pathToFileURL(file).href]);
    expect(await page.evaluate("window.ran")).toBeUndefined();
    expect(await page.locator("script, iframe, object, embed, link").count()).toBe(0);
    expect(await page.locator("img").count()).toBe(0);
    // Page one shows one of them once more.
    expect(await page.locator("svg").count()).toBe(5);
    await page.close();
  },
);

test.skipIf(chromium === null)("the note has no serious accessibility finding", async () => {
  const { page } = await opened(withoutPolicy(note("The plug was wiggled, and the speed was gone.", 4)));
  const found = await seriousFindings(page);
  expect(found.passes).toBeGreaterThan(15);
  expect(found.serious).toEqual([]);
  await page.close();
});

test.skipIf(chromium === null)(
  "on a phone nothing runs over the edge, and the words keep their size",
  async () => {
    const { page } = await opened(note("The plug was wiggled, and the speed was gone.", 4), 390);
    expect(await page.evaluate("document.documentElement.scrollWidth - innerWidth")).toBeLessThanOrEqual(0);
    expect(
      await page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)"),
    ).toBeGreaterThanOrEqual(16);
    await page.close();
  },
);

test.skipIf(chromium === null).each(["A4", "Letter"])(
  "printed on %s no chart is cut in two",
  async (format) => {
    const { page } = await opened(note("The plug was wiggled, and the speed was gone.", 12));
    const printed = await printedCharts(page, format);
    expect(printed.pages).toBeGreaterThan(3);
    expect(printed.charts).toBe(13);
    expect(printed.cut).toEqual([]);
    await page.close();
  },
);
