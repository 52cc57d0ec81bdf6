/** What the page of 0.1.0 kept in the browser, with the program away, is kept by today's page when it is opened. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { archivedJson, fullJob, keptIn } from "../archive/support.ts";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { service, tempFolder } from "../support/program.ts";
import { chromium } from "../support/tools.ts";

const file = "2024-03-02-110000-hatch-lean.ndjson";

test.skipIf(chromium === null)(
  "words of a job, marks and half-filled forms that 0.1.0 left in the browser are there, and are kept",
  async () => {
    build();
    const folder = tempFolder();
    keptIn(folder.path);
    const running = await service(folder.path);
    const browser = await sharedBrowser();
    try {
      const page = await browser.newPage({ viewport: { width: 1500, height: 1000 } });
      page.setDefaultTimeout(30_000);
      await page.goto(running.said[1] ?? "");
      const kept = JSON.stringify(archivedJson("drafts.json"));
      await page.evaluate(
        `for (const [name, text] of Object.entries(${kept})) localStorage.setItem(name, text)`,
      );
      await page.goto(running.said[1] ?? "");
      // The last job is there before anything is done, with its own vehicle.
      await page.getByRole("region", { name: "the job" }).getByText("Job Old hatch").waitFor();
      await page.getByRole("radio", { name: "A recording", exact: true }).check();
      await page
        .getByRole("button", { name: `open ${file}` })
        .first()
        .click();
      const job = (): string => readFileSync(join(folder.path, "jobs", fullJob, "job.json"), "utf8");
      for (const words of ["A contact in the plug.", "Shakes at idle, said later.", "The orchard"])
        await expect.poll(job, { timeout: 30_000 }).toContain(words);
      // What was typed for the next vehicle is not this job's.
      expect(job()).not.toMatch(/Next one|Does not start in the cold/);
      const recording = (): string => readFileSync(join(folder.path, file), "utf8");
      for (const label of ["hose held shut", "oil smelled"])
        await expect.poll(recording, { timeout: 30_000 }).toContain(`"label":"${label}"`);
      const card = page.getByRole("group", { name: "another hand check" });
      await expect
        .poll(() => card.getByRole("textbox", { name: "In your words" }).inputValue())
        .toBe("Wiggled, and");
      await expect
        .poll(() =>
          page.evaluate(`Object.keys(localStorage).filter((k) => /^crankside-(?:job|mark)-/.test(k))`),
        )
        .toEqual([]);
    } finally {
      await browser.close();
      await running.stop();
      folder.remove();
    }
  },
  180_000,
);
