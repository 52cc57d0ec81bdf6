/**
 * The golden visit on the page, as a person goes through it: hookup, cranks, marks, what goes on the sheet, checks,
 * photo, causes, before and after, note. The recordings of many minutes are made beforehand on a clock that jumps, and
 * opened from the page; what happens with the job happens on the page alone.
 */
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { checkJob, inOrder, type JobDocument } from "../../src/sheet/job.ts";
import { saidByRead } from "../jobs/figures.ts";
import { makeAfter, makeLean, makeShaking, visitFiles } from "../jobs/visit.ts";
import { launchBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { noteRules } from "../support/noteRules.ts";
import { crankside, service, tempFolder, type Background } from "../support/program.ts";
import { chromium } from "../support/tools.ts";

const folder = tempFolder();
const made = [visitFiles.shaking, visitFiles.lean, visitFiles.after] as const;
let running: Background;
let browser: Browser;
let page: Page;

beforeAll(async () => {
  if (chromium === null) return;
  build();
  await makeShaking(folder.path);
  await makeLean(folder.path);
  await makeAfter(folder.path);
  running = await service(folder.path);
  browser = await launchBrowser();
  page = await browser.newPage({ viewport: { width: 1400, height: 900 }, acceptDownloads: true });
}, 280_000);

afterAll(async () => {
  if (chromium !== null) {
    await browser.close();
    await running.stop();
  }
  folder.remove();
});

function job(): JobDocument {
  const jobs = join(folder.path, "jobs");
  const [id = ""] = readdirSync(jobs).filter((name) => /^\d{4}-/.test(name));
  return checkJob(JSON.parse(readFileSync(join(jobs, id, "job.json"), "utf8")), id);
}

function liveFile(): string {
  const known: ReadonlySet<string> = new Set(made);
  return readdirSync(folder.path).find((name) => name.endsWith(".ndjson") && !known.has(name)) ?? "";
}

/** Milliseconds that the live recording has come to. */
function recorded(): number {
  const times = [...readFileSync(join(folder.path, liveFile()), "utf8").matchAll(/"t":([\d.]+)/g)];
  return Number(times.at(-1)?.[1] ?? 0);
}

async function recordsFor(ms: number): Promise<void> {
  const until = recorded() + ms;
  await expect.poll(recorded, { timeout: 60_000, interval: 100 }).toBeGreaterThan(until);
}

async function fault(name: string, percent: number): Promise<void> {
  await page.getByRole("slider", { name, exact: true }).fill(String(percent));
}

async function cranks(ms: number): Promise<void> {
  await page.keyboard.down("c");
  await recordsFor(ms);
  await page.keyboard.up("c");
  await recordsFor(2500);
}

async function marks(label: string, ms = 0): Promise<void> {
  await page.keyboard.press(ms === 0 ? "m" : "i");
  if (ms > 0) {
    await cranks(ms);
    await page.keyboard.press("i");
  }
  await page.keyboard.type(label);
  await page.keyboard.press("Enter");
  await page.getByRole("listitem").filter({ hasText: label }).first().waitFor();
}

const kept = (): Promise<void> => page.locator('.job[data-saved="kept"]').first().waitFor();

/** All that the recording on the chart has to say goes on the sheet. */
async function putAll(): Promise<void> {
  const before = inOrder(job().entries).length;
  const acts = page.getByRole("button", { name: /^put (?:on the sheet|the cylinder balance)/ });
  const cranksButton = page.getByRole("button", { name: "the cranks", exact: true });
  await cranksButton.click();
  await expect.poll(() => inOrder(job().entries).length).toBeGreaterThan(before);
  const names = await Promise.all((await acts.all()).map((act) => act.getAttribute("aria-label")));
  const wanted = names.filter((name) => name !== null);
  for (const name of wanted) {
    const revision = job().revision;
    await page.getByRole("button", { name, exact: true }).first().click();
    await expect.poll(() => job().revision, { timeout: 10_000 }).toBeGreaterThan(revision);
  }
  await kept();
}

async function openFile(file: string): Promise<void> {
  await page.getByRole("toolbar", { name: "chart tools" }).focus();
  await page.keyboard.press("h");
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  await page.getByRole("button", { name: `open ${file}` }).click();
  // What was found in it is there when its crank is.
  await page.getByRole("button", { name: "put crank 1 on the sheet" }).waitFor({ timeout: 60_000 });
}

async function writes(part: string, words: string): Promise<void> {
  await page.getByRole("textbox", { name: `${part}, in your words` }).fill(words);
}

test.skipIf(chromium === null)(
  "hookup with complaint and vehicle; seven cranks, the signal lost in three of them; marks of what was done",
  async () => {
    await page.goto(running.said[1] ?? "");
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.locator('input[name="vehicle"][value="garden-van"]').check();
    await page.getByRole("combobox", { name: "With a fault" }).selectOption("pump-dead");
    await page.getByRole("slider", { name: /^How bad/ }).fill("1");
    await page.getByRole("textbox", { name: "Vehicle", exact: true }).fill("Van, stood all winter");
    await page
      .getByRole("textbox", { name: "Complaint" })
      .fill("Cranks; some cranks are dead on the display.");
    await page.getByText("Engine and place").click();
    await page.getByRole("textbox", { name: "Cylinders" }).fill("6");
    await page.getByRole("textbox", { name: "Odometer, km" }).fill("187400");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor();
    await page.getByText(/^faults/).click();
    await recordsFor(3000);
    for (const lost of [false, true, false, true, false]) {
      await fault("No crank signal", lost ? 100 : 0);
      await cranks(2500);
    }
    await fault("Fuel pump dead", 0);
    await marks("plug at the crank sensor cleaned");
    await cranks(2500);
    await page.getByRole("button", { name: "Off", exact: true }).click();
    await recordsFor(3000);
    await page.getByRole("button", { name: "On", exact: true }).click();
    await fault("No crank signal", 100);
    await marks("plug at the crank sensor wiggled while cranking", 2500);
    await fault("No crank signal", 0);
    await page.getByRole("button", { name: /Stop recording/ }).click();
    await page.getByRole("button", { name: "put crank 7 on the sheet" }).waitFor({ timeout: 30_000 });
    const read = await crankside(["read", join(folder.path, liveFile()), "--json"]);
    const { cranks: found } = JSON.parse(read.stdout) as { cranks: { outcome: string }[] };
    expect(found.map((c) => c.outcome === "turned-without-signal")).toEqual([
      ...[false, true, false, true, false],
      ...[false, true],
    ]);
  },
  280_000,
);

test.skipIf(chromium === null)(
  "what the four recordings show goes on one sheet, with checks, a photo, causes, and before beside after",
  async () => {
    await page.getByRole("button", { name: "Begin a job" }).click();
    await putAll();
    for (const file of made) {
      await openFile(file);
      await putAll();
    }
    // The last one is on the chart: that from before the repair under it, and both on the sheet with one key.
    await page.getByRole("toolbar", { name: "chart tools" }).focus();
    await page.keyboard.press("o");
    await page
      .getByRole("dialog")
      .getByRole("button", { name: new RegExp(visitFiles.lean) })
      .first()
      .click();
    await page.keyboard.press("Escape");
    await page.getByRole("toolbar", { name: "chart tools" }).focus();
    await page.keyboard.press("j");
    await expect.poll(() => inOrder(job().clips).filter((c) => c.against !== undefined)).toHaveLength(1);

    await page.getByRole("textbox", { name: "Customer" }).fill("A. Gardener");
    await page.getByRole("button", { name: "Add a hand check" }).click();
    const checks = page.getByRole("region", { name: "Hand checks" });
    await checks
      .getByRole("textbox", { name: "What was checked" })
      .fill("Plug cleaned, then wiggled while cranking");
    await checks
      .getByRole("textbox", { name: "What was seen" })
      .fill("Cleaned: it starts. Wiggled: no speed again.");
    await checks.locator('input[type="file"]').setInputFiles({
      name: "plug.png",
      mimeType: "image/png",
      buffer: Buffer.from(
        "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==",
        "base64",
      ),
    });
    await checks.getByRole("img", { name: "photo without a caption" }).waitFor();
    await checks.getByRole("textbox", { name: "Caption", exact: true }).fill("Green in the plug");
    await page.getByRole("button", { name: "Add a cause" }).click();
    const causes = page.getByRole("region", { name: "Causes and their proof" });
    await causes
      .getByRole("textbox", { name: "Cause", exact: true })
      .fill("Contact in the plug at the crank sensor");
    await causes.getByRole("combobox", { name: "How far it is proved" }).selectOption("proved");
    await writes("What was done", "Plug cleaned. Coil of cylinder 3 renewed. Intake gasket renewed.");
    await writes("Conclusion", "Three faults, one after the other, each shown by its own change.");
    await writes("Still open", "The battery is old.");
    await kept();
    const { recordings, photos, causes: proved } = job();
    expect(inOrder(recordings).map((r) => r.tie.file)).toEqual([liveFile(), ...made]);
    expect([inOrder(photos).length, inOrder(proved)[0]?.standing]).toEqual([1, "proved"]);
  },
  280_000,
);

test.skipIf(chromium === null)(
  "the note that leaves holds each figure that reading each recording prints, is valid, and says what is invented",
  async () => {
    await page.getByRole("button", { name: "Note", exact: true }).click();
    const download = page.waitForEvent("download");
    await page.getByRole("link", { name: "One HTML file" }).click();
    const html = readFileSync(await (await download).path(), "utf8");
    const out = join(folder.path, "note.html");
    writeFileSync(out, html);
    const keep = process.env["KEEP_NOTE"];
    if (keep !== undefined) writeFileSync(keep, html);
    const report = await new HtmlValidate(noteRules).validateString(html);
    expect(
      report.results.flatMap((r) => r.messages.map((m) => `${m.line}: ${m.ruleId}: ${m.message}`)),
    ).toEqual([]);

    const reader = await browser.newPage();
    await reader.context().setOffline(true);
    await reader.goto(pathToFileURL(out).href);
    const plain = (text: string): string => text.replace(/\s+/g, " ");
    const note = plain(await reader.locator("body").innerText());
    await reader.close();
    for (const file of [liveFile(), ...made]) {
      const { stdout } = await crankside(["read", join(folder.path, file)]);
      const said = saidByRead(stdout);
      const wanted = [...said.titles, ...said.signs, ...said.cranks, ...said.marks];
      expect(wanted.length).toBeGreaterThan(4);
      expect(wanted.filter((words) => !note.includes(plain(words)))).toEqual([]);
    }
    expect(note).toContain("Bench vehicle, invented data");
    const charts = html.match(/<svg /g) ?? [];
    expect(charts.length).toBeGreaterThan(6);
    expect(html.match(/>bench vehicle, invented data</g)).toHaveLength(charts.length);
    for (const words of [
      "Green in the plug",
      "Plug cleaned, then wiggled",
      "The battery is old.",
      "before",
      "after",
    ])
      expect(note).toContain(words);
  },
  120_000,
);
