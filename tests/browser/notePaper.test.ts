/** The note on paper: printed by Chromium, looked at with poppler's tools. */
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { frontLongest, type Entry } from "../../src/sheet/job.ts";
import { composeNote, type NotePart } from "../../src/sheet/note/compose.ts";
import { noteHtml } from "../../src/sheet/note/html.ts";
import { sharedBrowser } from "../support/browser.ts";
import { inkOf, printed } from "../support/printed.ts";
import { tempFolder } from "../support/program.ts";
import { saysOf } from "../../src/sheet/snapshot.ts";
import { sampleJobs, type SampleJob } from "../support/sampleJobs.ts";
import { chromium, poppler } from "../support/tools.ts";
import { jobWith } from "../sheet/support.ts";

const missing = chromium === null || !poppler;
const folder = tempFolder();
let browser: Browser;
let jobs: readonly SampleJob[] = [];

beforeAll(async () => {
  if (missing) return;
  browser = await sharedBrowser();
  jobs = await sampleJobs();
}, 240_000);
afterAll(async () => {
  if (!missing) await browser.close();
  folder.remove();
});

function html({ job, sources }: SampleJob, part: NotePart = "all"): string {
  const made = "2024-03-05T10:00:00.000+01:00";
  return noteHtml(composeNote(job, sources, { system: "metric", made, writer: "test", part }));
}

/** Without what stands between words, and without hyphens: one at the end of a line is left out where text is taken out. */
const bare = (text: string): string => text.replace(/[\s\u00AD-]+/gu, "");

/** The words of the note that are not in its pictures, piece by piece as they stand. */
async function wordsIn(source: string): Promise<{ front: string[]; annex: string[] }> {
  const page = await browser.newPage();
  await page.setContent(source);
  const words = await page.evaluate<{ front: string[]; annex: string[] }>(`(() => {
    const in_ = (root) => {
      const out = [];
      if (root === null) return out;
      const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
      while (walk.nextNode())
        if (walk.currentNode.parentElement.closest("svg") === null && walk.currentNode.data.trim() !== "")
          out.push(walk.currentNode.data);
      return out;
    };
    return { front: in_(document.querySelector(".front")), annex: in_(document.querySelector(".annex")) };
  })()`);
  await page.close();
  return words;
}

/** Each word of it stands on these pages; a hyphen may be the end of a line, with another column behind it. */
function lost(words: readonly string[], pages: readonly string[]): string[] {
  const there = bare(pages.join("\n"));
  return words.flatMap((piece) =>
    piece.split(/[\s-]+/).filter((word) => word !== "" && !there.includes(bare(word))),
  );
}

/** The margins of the style are 13 mm at the sides, 14 above and 16 below; the foot stands in the last. */
function expectWithinMargins(pdf: string, page: number, name: string): void {
  const ink = inkOf(pdf, page, join(folder.path, name));
  expect(Math.min(ink.left, ink.right), `sides of page ${page} of ${name}`).toBeGreaterThan(0.05);
  expect(Math.min(ink.top, ink.bottom), `ends of page ${page} of ${name}`).toBeGreaterThan(0.015);
}

const always = [
  "Complaint",
  "What was found",
  "How it was proved",
  "What was done",
  "What is left",
  "When to come back",
];

test.skipIf(missing).each(["no-start", "lean-bank", "open"])(
  "the note of the job %s: page one stands alone on one sheet, the annex begins the next, and no word is cut",
  async (name) => {
    const sample = jobs.find((j) => j.name === name);
    if (sample === undefined) throw new Error(`no job ${name}`);
    const source = html(sample);
    const { pages, pdf } = await printed(browser, source, { folder: join(folder.path, name) });
    const { front, annex } = await wordsIn(source);
    expect(pages.length).toBeGreaterThan(3);
    expect(pages.length).toBeLessThan(16);
    for (const part of always) expect(pages[0]).toContain(part);
    if (name !== "open") expect(pages[0]).toContain("Before and after");
    if (name === "open") expect(pages[0]).toContain("For the driver");
    // The picture with its source.
    expect(pages[0]).toMatch(/readings a second/);
    expect(pages[0]).not.toContain("Annex for the colleague");
    expect(pages[1]?.trimStart().startsWith("Annex for the colleague")).toBe(true);
    expect(lost(front, pages.slice(0, 1))).toEqual([]);
    expect(lost(annex, pages.slice(1))).toEqual([]);
    for (let page = 1; page <= pages.length; page++) expectWithinMargins(pdf, page, name);
    if (process.env["KEEP_PDF"] !== undefined) process.stdout.write(`${pdf}: ${pages.length} pages\n`);
  },
  120_000,
);

function unmended(entry: Entry): Entry {
  const says = saysOf(entry.says);
  if (says?.kind !== "before-after") return entry;
  const compared = { ...says.compared, verdict: "still-there" as const };
  return { ...entry, says: { ...says, compared } as Entry["says"] };
}

test.skipIf(missing).each(["A4", "Letter"])(
  "page one fits on %s when every part of it is as long as it may be",
  async (format) => {
    const [sample] = jobs;
    if (sample === undefined) throw new Error("no job");
    const long = (n: number): string =>
      "Wound contact corroded. "
        .repeat(60)
        .slice(0, n - 1)
        .concat(".");
    const all = Object.fromEntries(Object.entries(frontLongest).map(([field, n]) => [field, long(n)]));
    const job = jobWith({
      ...sample.job,
      who: { customer: long(400), mechanic: long(400), plate: "M-MM 2024 M".padEnd(40, "M") },
      vehicle: { ...sample.job.vehicle, name: long(120), vin: "1M8GDM9AXKP042788" },
      // Not mended, so that all that a driver may be told applies.
      entries: Object.fromEntries(Object.entries(sample.job.entries).map(([id, e]) => [id, unmended(e)])),
      log: {},
      texts: { complaint: "Does not start, runs rough and lean, does not charge the battery." },
      front: all,
    });
    const source = html({ ...sample, job });
    const { pages, pdf } = await printed(browser, source, { folder: join(folder.path, "long"), format });
    const { front } = await wordsIn(source);
    expect(pages[1]?.trimStart().startsWith("Annex for the colleague")).toBe(true);
    expect(lost(front, pages.slice(0, 1))).toEqual([]);
    expect(pages[0]).toMatch(/readings a second/);
    for (const part of [...always, "Before and after", "For the driver", "It may not start again"])
      expect(pages[0]).toContain(part);
    expectWithinMargins(pdf, 1, "long");
  },
  120_000,
);

test.skipIf(missing)(
  "page one leaves alone as one page, and the annex without it",
  async () => {
    const [sample] = jobs;
    if (sample === undefined) throw new Error("no job");
    const one = await printed(browser, html(sample, "page-one"), { folder: join(folder.path, "one") });
    expect(one.pages).toHaveLength(1);
    expect(one.pages[0]).toContain("What was found");
    const rest = await printed(browser, html(sample, "annex"), { folder: join(folder.path, "rest") });
    expect(rest.pages.join("")).not.toContain("When to come back");
    expect(rest.pages[0]).toContain("Repair note: Garden van");
    expect(rest.pages.join("")).toContain("Evidence in the order of time");
  },
  120_000,
);
