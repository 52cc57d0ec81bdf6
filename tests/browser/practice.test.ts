/** A guided case on the page: story, hidden fault, by hand, and the debrief. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { caseText, type NewCase } from "../../src/sheet/practiceCase.ts";
import type { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

test.skipIf(chromium === null)(
  "a case is chosen by its story, tried by hand with a mark, and told at the end",
  async () => {
    const { page, errors } = await pages.open();
    const ways = page.getByRole("radiogroup", { name: "connection" }).getByRole("group");
    for (const [i, name] of ["My adapter", "A saved recording", "Learn without a vehicle"].entries())
      await ways.nth(i).getByText(name, { exact: true }).waitFor();
    await ways
      .first()
      .getByText(/^(?:seen: |no .*port (?:found|looks))/)
      .waitFor();
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.getByLabel(/^To practise/).selectOption("case-silent");
    await page.getByText("It stopped at a crossing").waitFor();
    await page.getByRole("button", { name: "Connect" }).click();
    const strip = page.getByRole("region", { name: "bench vehicle" });
    await strip.getByText("a fault is hidden").waitFor();
    expect(await strip.innerText()).not.toMatch(/crank signal/i);
    await strip.getByText("by hand", { exact: true }).click();
    await strip.getByRole("button", { name: "Unplug cylinder 2" }).click();
    await strip.getByRole("button", { name: "Plug cylinder 2 in again" }).click();
    await strip.getByRole("button", { name: "Wiggle the crank sensor's plug" }).click();
    await page.getByText(/^Move it\. crank sensor's plug: (?:no|\d+) drop-outs? in \d+ s/).waitFor();
    await strip.getByRole("button", { name: "Let the crank sensor's plug be" }).click();
    await strip.getByRole("spinbutton", { name: "second cylinder" }).fill("3");
    await strip.getByRole("button", { name: "Swap coils" }).click();
    await strip.getByLabel("Measure or look").selectOption("fuel-pressure");
    await strip.getByRole("button", { name: "Read", exact: true }).click();
    await strip.getByText(/^Fuel pressure as it stands: \d+ kPa/).waitFor();
    // Its menu lies over the sheet while it is open.
    await strip.getByText("by hand", { exact: true }).click();
    await page.getByRole("button", { name: "I am done: show what it was" }).click();
    const debrief = page.getByRole("region", { name: "debrief" });
    await debrief.getByText("It was: no crank signal", { exact: false }).waitFor();
    expect(await debrief.innerText()).toContain("Nothing was changed in vain.");
    const file = readdirSync(pages.folder).find((name) => name.endsWith(".ndjson")) ?? "";
    const kept = (): string => readFileSync(join(pages.folder, file), "utf8");
    await expect.poll(kept).toContain("cylinder 2 unplugged");
    await expect.poll(kept).toContain("wiggled: crank sensor's plug");
    await expect.poll(kept).toContain("coils of 1 and 3 swapped");
    await expect.poll(kept).toContain("Fuel pressure as it stands:");
    expect(kept()).not.toMatch(/case-silent|no-crank-signal/);
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
);

test.skipIf(chromium === null)(
  "an instructor's case is opened from its file, on the bench vehicle and on a recording, and told at the end",
  async () => {
    const { page, errors } = await pages.open();
    const give = async (made: NewCase): Promise<void> => {
      const buffer = Buffer.from(caseText(made));
      await page
        .getByLabel(/^A case from a file/)
        .setInputFiles({ name: "case.json", mimeType: "application/json", buffer });
    };
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    const told = { title: "Will not fire", story: "It turned all morning.", complaint: "cranks, no start" };
    const faults = [{ name: "relay-open", severity: 1 }];
    await give({
      ...told,
      ...{ knows: 77, recording: null },
      hidden: { causes: ["relay-open"], bench: { vehicle: "hay-truck", faults } },
    });
    await page.getByText("It turned all morning.").waitFor();
    // The case says which vehicle it is.
    const truck = page.getByRole("radio", { name: /^Hay truck/ });
    expect([await truck.isChecked(), await truck.isDisabled()]).toEqual([true, true]);
    await page.getByRole("button", { name: "Connect" }).click();
    const strip = page.getByRole("region", { name: "bench vehicle" });
    await strip.getByText("a fault is hidden").waitFor();
    // What the one who knows spends is still known after a reload.
    await page.reload();
    await strip.getByText(/^Hay truck/).waitFor({ state: "attached" });
    await page.getByRole("button", { name: "I am done: show what it was" }).click();
    const debrief = page.getByRole("region", { name: "debrief" });
    await debrief.getByText("It was: main relay open", { exact: false }).waitFor();
    await debrief.getByText("with the fault known: 77").waitFor();
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });

    await page.goto(pages.url);
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    const sample = join(import.meta.dirname, "../../recordings/truck-shakes.ndjson.gz");
    await give({
      ...{ title: "Shakes", story: "Since the rain.", complaint: "", hidden: { causes: ["plug-one"] } },
      recording: { file: "from-the-school.ndjson.gz", bytes: new Uint8Array(readFileSync(sample)) },
    });
    const practice = page.getByRole("region", { name: "practice" });
    await practice.getByText("Since the rain.").waitFor();
    expect(existsSync(join(pages.folder, "from-the-school.ndjson.gz"))).toBe(true);
    await practice.getByRole("button", { name: "I am done: show what it was" }).click();
    await debrief.getByText(/^It was: .*plug/i).waitFor();
    expect(errors).toEqual([]);
  },
  120_000,
);
