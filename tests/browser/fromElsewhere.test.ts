/** Lists that tell recordings apart, files from elsewhere, putting without opening, and what outlives a reload. */
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "csv-parse/sync";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { inOrder } from "../../src/sheet/job.ts";
import { saysOf } from "../../src/sheet/snapshot.ts";
import { JobPages, tcpFile, vanFile } from "../support/jobPages.ts";
import { crankside, tempFolder } from "../support/program.ts";
import { openPart } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";

let pages: JobPages;
const elsewhere = tempFolder();
const foreign = join(elsewhere.path, "from a friend.ndjson");

beforeAll(async () => {
  if (chromium === null) return;
  pages = await JobPages.start();
  const made = await crankside([
    ...[
      "bench",
      "--vehicle",
      "old-hatch",
      "--fault",
      "relay-open",
      "--script",
      "crank-only",
      "--out",
      foreign,
    ],
  ]);
  if (made.status !== 0) throw new Error(made.stderr);
}, 180_000);
afterAll(async () => {
  if (chromium !== null) await pages.stop();
  elsewhere.remove();
});

function job(): ReturnType<JobPages["job"]> {
  return pages.job(pages.jobIds().at(-1));
}

async function hookup(page: Page): Promise<void> {
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.goto(pages.url);
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
}

test.skipIf(chromium === null)(
  "each line of the list is another one and says what happened; a whole recording leaves as CSV, and a refusal is told",
  async () => {
    const page = await pages.browser.newPage();
    await hookup(page);
    const van = page.getByRole("listitem").filter({ hasText: vanFile });
    await van.getByText("3 cranks: no speed seen").waitFor();
    const lines = await page.getByRole("listitem").filter({ hasText: ".ndjson" }).allInnerTexts();
    expect(lines.length).toBeGreaterThan(4);
    expect(new Set(lines).size).toBe(lines.length);

    const download = page.waitForEvent("download");
    await page.getByRole("link", { name: `whole recording as CSV: ${tcpFile}` }).click();
    const file = await download;
    expect(file.suggestedFilename()).toBe(tcpFile.replace(".ndjson", ".csv"));
    const rows = parse<Record<string, string>>(readFileSync(await file.path()), { columns: true });
    expect(rows.map((row) => row["engine-speed (rpm)"])).toEqual(["800", "800", "800"]);

    await page.route("**/api/recordings/*?csv", (route) => route.abort());
    await page.getByRole("link", { name: `whole recording as CSV: ${tcpFile}` }).click();
    await page.getByRole("alert").getByText("Crankside itself does not answer").waitFor();
    await page.close();
  },
  180_000,
);

test.skipIf(chromium === null)(
  "a recording from elsewhere is picked, another one dropped; what is none is refused and leaves nothing",
  async () => {
    const page = await pages.browser.newPage();
    await hookup(page);
    await page.getByLabel(/^Open a file from elsewhere/).setInputFiles(foreign);
    await page.getByRole("toolbar", { name: "job tools" }).waitFor();
    const there = join(pages.folder, "from a friend.ndjson");
    expect(readFileSync(there, "utf8")).toBe(readFileSync(foreign, "utf8"));
    await page.getByText("from a friend.ndjson is in your folder now").waitFor();

    const drop = (name: string, text: string): Promise<void> =>
      page.evaluate<undefined>(`(() => {
        const data = new DataTransfer();
        data.items.add(new File([${JSON.stringify(text)}], ${JSON.stringify(name)}));
        for (const type of ["dragover", "drop"])
          document.body.dispatchEvent(new DragEvent(type, { bubbles: true, cancelable: true, dataTransfer: data }));
      })()`);
    await drop("notes.ndjson", "nothing of the kind\n");
    const alert = page.getByRole("alert").filter({ hasText: "The file is not opened" });
    await alert.getByText("this is no recording").waitFor();
    expect(existsSync(join(pages.folder, "notes.ndjson"))).toBe(false);
    await page.getByRole("button", { name: "Close", exact: true }).click();
    await drop("dropped.ndjson", readFileSync(join(pages.folder, tcpFile), "utf8"));
    await page.getByText("dropped.ndjson is in your folder now").waitFor();
    await page.close();
  },
  180_000,
);

test.skipIf(chromium === null)(
  "cranks and stretches of a recording that is not open go on the sheet, and all that the causes rest on in one step",
  async () => {
    const page = await pages.openRecording(await pages.browser.newContext());
    await page.getByRole("button", { name: "this recording", exact: true }).click();
    await expect.poll(() => existsSync(join(pages.folder, "jobs")) && pages.jobIds().length).toBe(1);
    await expect.poll(() => inOrder(job().recordings).length, { timeout: 10_000 }).toBe(1);
    // The van stands on the sheet; now another recording is on the chart.
    await hookup(page);
    await page.getByRole("button", { name: `open ${tcpFile}` }).click();
    await openPart(page, "Job and note");
    const recordings = page.getByRole("region", { name: "recordings of the job" });
    await recordings.getByText("3 cranks: no speed seen").waitFor();
    await page.getByRole("button", { name: `put cranks, codes or stretches of ${vanFile}` }).click();
    const dialog = page.getByRole("dialog", { name: `Put from ${vanFile}` });
    await dialog.getByRole("button", { name: "Put the cranks" }).click();
    await dialog.getByText("The cranks: on the sheet.").waitFor();
    await dialog.getByLabel("from, s").fill("5");
    await dialog.getByLabel("to, s").fill("20");
    await dialog.getByRole("button", { name: "Put this stretch" }).click();
    await dialog.getByText("The stretch: on the sheet.").waitFor();
    await page.keyboard.press("Escape");
    await expect.poll(() => inOrder(job().clips).length, { timeout: 10_000 }).toBe(2);
    const cranks = inOrder(job().entries).filter((e) => e.says.kind === "crank");
    expect(cranks.map((e) => e.tie.file)).toEqual([vanFile, vanFile, vanFile]);
    expect(
      inOrder(job().clips).some((c) => c.tie.file === vanFile && c.from === 5000 && c.to === 20_000),
    ).toBe(true);

    await hookup(page);
    await page.getByRole("button", { name: `open ${vanFile}` }).click();
    const before = inOrder(job().entries).length;
    await page.getByRole("button", { name: "Put all that they rest on" }).click();
    await page.getByText("The causes and what they rest on: on the sheet.").waitFor();
    const kinds = (): string[] => inOrder(job().entries).map((e) => saysOf(e.says)?.kind ?? "");
    await expect.poll(kinds, { timeout: 10_000 }).toContain("advice");
    expect(kinds()).toContain("sign");
    // The cranks were there already.
    expect(kinds().filter((kind) => kind === "crank")).toHaveLength(3);
    await page.getByRole("toolbar", { name: "job tools" }).getByRole("button", { name: /^Undo/ }).click();
    await expect.poll(() => inOrder(job().entries).length, { timeout: 10_000 }).toBe(before);
    await page.context().close();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "a stretch that was begun and a label that is half typed outlive a reload; a job that was laid aside stays so",
  async () => {
    const page = await pages.openRecording(await pages.browser.newContext());
    const tools = page.getByRole("toolbar", { name: "chart tools" });
    await tools.focus();
    await page.keyboard.press("i");
    const end = page.getByRole("button", { name: /^End stretch from / });
    await end.waitFor();
    await page.keyboard.press("m");
    const label = page.getByRole("form", { name: "name the mark" }).getByRole("textbox");
    await label.fill("relay swa");
    const words = await end.innerText();

    const again = await pages.openRecording(page.context());
    await end.waitFor();
    expect(await end.innerText()).toBe(words);
    await expect.poll(() => label.inputValue()).toBe("relay swa");
    await label.fill("relay swapped");
    await again.keyboard.press("Enter");
    await expect
      .poll(() => readFileSync(join(pages.folder, vanFile), "utf8"))
      .toContain('"label":"relay swapped"');

    await again.goto(pages.url);
    await again.getByRole("button", { name: "Close job" }).click();
    await again.getByText("No job is open: what is put on the sheet begins one.").waitFor();
    const list = async (): Promise<unknown> =>
      ((await (await fetch(`${pages.url}api/jobs`)).json()) as { last: unknown }).last;
    await expect.poll(list).toBeNull();
    await again.reload();
    await again.getByText("No job is open: what is put on the sheet begins one.").waitFor();
    await again.context().close();
  },
  90_000,
);
