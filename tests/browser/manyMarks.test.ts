/** A recording with ten thousand marks on the built page, in a real Chromium. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { openRecording, type Pages } from "../support/pages.ts";
import { chartWide, openPart, sheetToo } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

test.skipIf(chromium === null)(
  "ten thousand marks are few elements on the chart and in the list",
  async () => {
    const sample = join(import.meta.dirname, "../../recordings/hatch-fires-and-chokes.ndjson.gz");
    const lines = gunzipSync(readFileSync(sample)).toString("utf8");
    const end = Number(/"t":([\d.]+),"k":"end"/.exec(lines)?.[1]);
    const marks = Array.from({ length: 10_000 }, (_, i) => {
      const at = (i / 10_000) * end;
      return JSON.stringify({
        ...{ t: end, k: "mark", id: `m${i}`, at, label: `mark ${i}` },
        until: at + 500,
      });
    });
    const text = `${lines}${marks.join("\n")}\n`;
    writeFileSync(join(pages.folder, "marked.ndjson"), text);
    const { page, errors } = await pages.open();
    await openRecording(page, "marked.ndjson", 60_000);
    await chartWide(page);
    const count = (selector: string): Promise<number> => page.locator(selector).count();
    await expect.poll(() => count(".overlay .mark")).toBeGreaterThan(100);
    const width = await page.evaluate<number>("document.querySelector('.overlay').clientWidth");
    expect(await count(".overlay .mark")).toBeLessThanOrEqual(width / 3 + 2);
    expect(await count(".overlay .mark.crowded")).toBe(await count(".overlay .mark"));
    expect(await count(".overlay .interval")).toBe(1);
    expect(await count(".overview line")).toBeLessThanOrEqual(width / 3 + 2);
    expect(await page.getByText(/^and \d+ more$/).count()).toBe(1);
    await sheetToo(page);
    await openPart(page, "Marks");
    const more = page.getByRole("button", { name: "Show 200 more of 10000" });
    await more.waitFor();
    expect(await page.getByRole("button", { name: /^name mark \d+ anew/ }).count()).toBe(200);
    await more.click();
    await expect.poll(() => page.getByRole("button", { name: /^name mark \d+ anew/ }).count()).toBe(400);
    expect(errors).toEqual([]);
  },
);
