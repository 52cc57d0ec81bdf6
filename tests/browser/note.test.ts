/** The note in a real Chromium with the network closed: nothing asked for, nothing run, readable, and whole on paper. */
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { composeNote } from "../../src/sheet/note/compose.ts";
import { noteHtml } from "../../src/sheet/note/html.ts";
import { sections } from "../../src/sheet/sections.ts";
import { clip, created, jobWith, readingOf, recordingItem, sourcesOf, tie } from "../sheet/support.ts";
import { launchBrowser } from "../support/browser.ts";
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
  if (chromium !== null) browser = await launchBrowser();
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
    expect(await page.locator("svg").count()).toBe(4);
    await page.close();
  },
);

test.skipIf(chromium === null)("the note has no serious accessibility finding", async () => {
  // Axe has to run in the page, so its policy against scripts is taken out for this test alone.
  const html = note("The plug was wiggled, and the speed was gone.", 4).replace(
    /<meta http-equiv="Content-Security-Policy"[^>]*>/,
    "",
  );
  const { page } = await opened(html);
  const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
  await page.evaluate(source);
  const found = await page.evaluate<{
    violations: { id: string; impact: string; nodes: { html: string }[] }[];
    passes: unknown[];
  }>("axe.run()");
  expect(found.passes.length).toBeGreaterThan(15);
  const serious = found.violations.filter((v) => v.impact === "serious" || v.impact === "critical");
  expect(serious.map((v) => `${v.id}: ${v.nodes[0]?.html}`)).toEqual([]);
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

/** Page by page, the addresses of the links on it. Chromium writes its PDF objects uncompressed, text apart. */
function linksByPage(pdf: Buffer): string[][] {
  const text = pdf.toString("latin1");
  const objects = new Map<string, string>();
  for (const [, id = "", body = ""] of text.matchAll(/(?:^|\n)(\d+) 0 obj\s([\s\S]*?)endobj/g))
    objects.set(id, body);
  const pages = [...objects.values()].filter((body) => /\/Type\s*\/Page\b(?!s)/.test(body));
  return pages.map((body) => {
    const list = /\/Annots\s*\[([^\]]*)\]/.exec(body)?.[1] ?? "";
    return [...list.matchAll(/(\d+) 0 R/g)].flatMap(([, id = ""]) => {
      const uri = /\/URI\s*\((https:[^)]*)\)/.exec(objects.get(id) ?? "")?.[1];
      return uri === undefined ? [] : [uri];
    });
  });
}

test.skipIf(chromium === null).each(["A4", "Letter"])(
  "printed on %s no chart is cut in two",
  async (format) => {
    const { page } = await opened(note("The plug was wiggled, and the speed was gone.", 12));
    // A link at the head and one at the foot of every chart, so that the printed file itself tells where they came to lie.
    await page.evaluate(`for (const [n, chart] of [...document.querySelectorAll("figure svg")].entries()) {
    const box = document.createElement("div");
    box.style.position = "relative";
    chart.before(box);
    box.append(chart);
    const caption = box.closest("figure").querySelector("figcaption");
    caption.style.position = "relative";
    for (const [end, side, where] of [["head", "top", box], ["foot", "bottom", box], ["caption", "bottom", caption]]) {
      const link = document.createElement("a");
      link.href = "https://example.invalid/" + n + "-" + end;
      link.textContent = "x";
      link.style.cssText = "position:absolute;left:0;font-size:6px;line-height:6px;" + side + ":8px";
      where.append(link);
    }
  }`);
    const pdf = await page.pdf({ format });
    if (process.env["KEEP_PDF"] !== undefined) writeFileSync(process.env["KEEP_PDF"], pdf);
    const pages = linksByPage(pdf);
    expect(pages.length).toBeGreaterThan(3);
    for (let n = 0; n < 12; n++) {
      const on = (end: string): number =>
        pages.findIndex((links) => links.includes(`https://example.invalid/${n}-${end}`));
      expect(on("head"), `head of chart ${n}`).toBeGreaterThanOrEqual(0);
      expect(on("foot"), `foot of chart ${n}`).toBe(on("head"));
      expect(on("caption"), `caption of chart ${n}`).toBe(on("head"));
    }
    await page.close();
  },
);
