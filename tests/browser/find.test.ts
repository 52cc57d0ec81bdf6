/** The field over the list of recordings: words find recordings and jobs, and what is found opens. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { newJob } from "../../src/sheet/job.ts";
import { causeRow } from "../../src/interpret/causes/rows.ts";
import { casesFile, type SharedCase } from "../../src/sheet/shelf/cases.ts";
import { closed, headerText } from "../recorder/support.ts";
import { openRecording, type Pages } from "../support/pages.ts";
import { openPart } from "../support/sheet.ts";
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

test.skipIf(chromium === null)(
  "own proved cases are told on the cause that they speak for, and no longer where they are switched off",
  async () => {
    const many = (n: number, cause: string): SharedCase[] =>
      Array.from({ length: n }, (_, i) => ({
        ...{ id: `${cause}.${i}`, complaints: ["no-start"], signs: [], cause },
      }));
    const all = [...many(9, "fuel-stale"), ...many(3, "crank-signal-dead"), ...many(2, "relay-open")];
    mkdirSync(join(pages.folder, "cases"), { recursive: true });
    writeFileSync(join(pages.folder, "cases", "ours.json"), casesFile(all));
    const { page, errors } = await pages.open();
    await openRecording(page, "van-stood-all-winter.ndjson.gz");
    const causes = page.getByRole("region", { name: "likely causes and the next check" });
    const told = causes.getByText(/^Of 14 own cases of .*: 9 .*, 3 .*, 2 /);
    await told.first().waitFor({ state: "attached" });
    const stale = causes.locator("article", {
      has: page.getByText(causeRow("fuel-stale")?.name ?? "", { exact: true }),
    });
    expect(await stale.locator("p", { hasText: /^Of 14 own cases of .*: 9 / }).count()).toBe(1);
    await openPart(page, "Hand checks");
    await page.getByText(/^Tools, and what an hour costs/).click();
    await page.getByRole("checkbox", { name: /^Count own proved cases/ }).uncheck();
    await told.first().waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  90_000,
);
