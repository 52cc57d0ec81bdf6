/** The field over the list of recordings: words find recordings and jobs, and what is found opens. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { newJob } from "../../src/sheet/job.ts";
import { closed, headerText } from "../recorder/support.ts";
import type { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

test.skipIf(chromium === null)("words find a recording and a job; the recording opens", async () => {
  const header = headerText.replace('"vehicle":{}', '"vehicle":{"name":"Zebra cart"}');
  const readings = [0, 500, 1000]
    .map((t) => `{"t":${t},"k":"s","ch":"engine-speed","v":800,"u":"rpm"}\n`)
    .join("");
  writeFileSync(join(pages.folder, "zebra.ndjson"), closed(header + readings));
  const id = "2024-03-02-stripes";
  mkdirSync(join(pages.folder, "jobs", id), { recursive: true });
  const job = { ...newJob(id, "2024-03-02T08:00:00+01:00"), texts: { complaint: "zebra hisses at idle" } };
  writeFileSync(join(pages.folder, "jobs", id, "job.json"), JSON.stringify(job));
  const { page, errors } = await pages.open();
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  await page.getByRole("searchbox", { name: /^Look through recordings/ }).fill("ZEBRA");
  const found = page.getByRole("list", { name: "found" }).getByRole("listitem");
  await expect.poll(() => found.allInnerTexts()).toHaveLength(2);
  expect((await found.allInnerTexts()).join("\n")).toContain("zebra hisses at idle");
  await page.getByRole("button", { name: "open zebra.ndjson" }).first().click();
  await page.locator('section.chart[aria-busy="false"] .lane canvas').first().waitFor();
  expect(errors).toEqual([]);
});
