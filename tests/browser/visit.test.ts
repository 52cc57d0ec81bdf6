/**
 * The golden visit on the page, as a person goes through it: hookup, cranks, marks, what goes on the sheet, checks,
 * photo, causes, before and after, note. The recordings of many minutes are made beforehand on a clock that jumps, and
 * opened from the page; what happens with the job happens on the page alone.
 */
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import type { Browser, Locator, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { checkJob, inOrder, type JobDocument } from "../../src/sheet/job.ts";
import { saidByRead } from "../jobs/figures.ts";
import { makeVisit, visitFiles } from "../jobs/visit.ts";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { printedCharts, seriousFindings, withoutPolicy } from "../support/noteChecks.ts";
import { noteRules } from "../support/noteRules.ts";
import { complain, findCheck, openPart } from "../support/sheet.ts";
import { crankside, service, tempFolder, type Background } from "../support/program.ts";
import { chromium } from "../support/tools.ts";

const folder = tempFolder();
/** One dot, made up. */
const plugPhoto = {
  name: "plug.png",
  mimeType: "image/png",
  buffer: Buffer.from(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==",
    "base64",
  ),
};
const made = Object.values(visitFiles);
let running: Background;
let browser: Browser;
let page: Page;

beforeAll(async () => {
  if (chromium === null) return;
  build();
  await makeVisit(folder.path);
  running = await service(folder.path);
  browser = await sharedBrowser();
  page = await browser.newPage({ viewport: { width: 1400, height: 900 }, acceptDownloads: true });
  page.setDefaultTimeout(60_000);
}, 280_000);

afterAll(async () => {
  if (chromium !== null) {
    await browser.close();
    await running.stop();
  }
  folder.remove();
});

/** On a busy machine what is done takes its time to the page and to the disk. */
const eventually = <T>(look: () => T): ReturnType<typeof expect.poll<T>> =>
  expect.poll(look, { timeout: 60_000 });

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

const kept = (): Promise<void> => page.locator('.job[data-saved="kept"]').first().waitFor();

/** All that the recording on the chart has to say goes on the sheet. */
async function putAll(): Promise<void> {
  const before = inOrder(job().entries).length;
  const acts = page.getByRole("button", { name: /^put (?:on the sheet|the cylinder balance)/ });
  await openPart(page, "Evidence");
  const cranksButton = page.getByRole("button", { name: "the cranks", exact: true });
  await cranksButton.click();
  await eventually(() => inOrder(job().entries).length).toBeGreaterThan(before);
  const names = await Promise.all((await acts.all()).map((act) => act.getAttribute("aria-label")));
  const wanted = names.filter((name) => name !== null);
  for (const name of wanted) {
    const revision = job().revision;
    await page.getByRole("button", { name, exact: true }).first().click();
    await expect.poll(() => job().revision, { timeout: 60_000 }).toBeGreaterThan(revision);
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
  await openPart(page, "Job and note");
  await page.getByRole("textbox", { name: `${part}, in your words` }).fill(words);
}

const causes = (): Locator => page.getByRole("region", { name: "likely causes and the next check" });
const handChecks = (): Locator => page.getByRole("region", { name: "Hand checks", exact: true });
const advised = (): number => inOrder(job().entries).filter((e) => e.says.kind === "advice").length;

/** So many entries are in the log by now, and kept. */
async function entered(count: number): Promise<void> {
  await expect.poll(() => inOrder(job().log).length, { timeout: 60_000 }).toBe(count);
  await kept();
}

/** A hand check that is picked from all there are, with what was seen. */
async function seen(
  check: string,
  outcome: string,
  more: { readonly words: string; readonly photo?: boolean },
): Promise<void> {
  await findCheck(causes(), check);
  const card = page.getByRole("group", { name: "another hand check" });
  await card.getByRole("button", { name: new RegExp(`^\\d ${outcome}$`) }).click();
  await card.getByRole("textbox", { name: "In your words" }).fill(more.words);
  if (more.photo === true) {
    await card.getByText("When, by whom, photo, place in the recording").click();
    await card.locator('input[type="file"]').setInputFiles(plugPhoto);
  }
  await card.getByRole("button", { name: "Keep the result" }).click();
}

async function changed(cause: Locator, did: string, effect: string): Promise<void> {
  const form = cause.getByRole("form", { name: "what was changed" });
  // What was entered before is weighed by now: a row does not move under the hand.
  await expect.poll(() => causes().getAttribute("aria-busy"), { timeout: 60_000 }).toBe("false");
  if ((await form.count()) === 0)
    await cause.getByRole("button", { name: /^something was changed for / }).click();
  await form.getByRole("combobox", { name: "What was done" }).selectOption(did);
  const seenAfter = form.getByRole("button", { name: effect });
  await seenAfter.click();
  await expect.poll(() => seenAfter.getAttribute("aria-pressed")).toBe("true");
  await form.getByRole("button", { name: "Keep the change" }).click();
  // It goes once the change is kept; the next one begins with a form of its own.
  await form.waitFor({ state: "detached" });
}

async function shot(name: string): Promise<void> {
  const keep = process.env["KEEP_SHOTS"];
  if (keep !== undefined) await page.screenshot({ path: join(keep, `${name}.png`) });
}

test.skipIf(chromium === null)(
  "hookup with complaint and vehicle; a crank of which no speed is seen, marked with what was done",
  async () => {
    await page.goto(running.said[1] ?? "");
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.locator('input[name="vehicle"][value="garden-van"]').check();
    await page.getByRole("combobox", { name: "With a fault" }).selectOption("no-crank-signal");
    await page.getByRole("slider", { name: /^How bad/ }).fill("1");
    await page.getByRole("textbox", { name: "Vehicle", exact: true }).fill("Van, stood all winter");
    await page
      .getByRole("textbox", { name: "Complaint" })
      .fill("Cranks; some cranks are dead on the display.");
    await page.getByText("Engine and place").click();
    await page.getByRole("textbox", { name: "Cylinders", exact: true }).fill("6");
    await page.getByRole("textbox", { name: "Odometer" }).fill("187400");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor();
    await recordsFor(3000);
    await page.keyboard.press("i");
    await page.keyboard.down("c");
    await recordsFor(3000);
    await page.keyboard.up("c");
    await page.keyboard.press("i");
    await page.keyboard.type("plug at the crank sensor wiggled while cranking");
    await page.keyboard.press("Enter");
    await openPart(page, "Marks");
    await page
      .getByRole("listitem")
      .filter({ hasText: "plug at the crank sensor wiggled" })
      .first()
      .waitFor();
    // The crank is over for who reads along, too.
    await page.getByText("no speed seen", { exact: true }).first().waitFor();
    await page.getByRole("button", { name: /Stop recording/ }).click();
    await page.getByRole("button", { name: "put crank 1 on the sheet" }).waitFor();
    const read = await crankside(["read", join(folder.path, liveFile()), "--json"]);
    const { cranks: found } = JSON.parse(read.stdout) as { cranks: { outcome: string }[] };
    expect(found.map((c) => c.outcome)).toContain("turned-without-signal");
  },
  120_000,
);

test.skipIf(chromium === null)(
  "the cranks before it go on the sheet; the complaint is chosen, the plug is checked, photographed and proved",
  async () => {
    await page.getByRole("button", { name: "Begin a job" }).click();
    await page.getByRole("button", { name: "Note", exact: true }).waitFor();
    await putAll();
    await openFile(visitFiles.cranks);
    await page.getByRole("button", { name: "put crank 8 on the sheet" }).waitFor();
    await putAll();
    await openPart(page, "Job and note");
    await page.getByRole("textbox", { name: "Customer" }).fill("A. Gardener");
    // In the end it did start: that some cranks were dead is the person's to say.
    await complain(causes(), "does not start");
    const plug = causes()
      .locator("ol > li")
      // By its own name: what is said of others may name it too.
      .filter({ has: page.locator("strong").getByText("Crank signal drops out", { exact: true }) })
      .first();
    await plug.waitFor({ timeout: 60_000 });
    await shot("visit-causes");

    // What is asked next is answered by its number; the rest is picked from all checks.
    const next = page.getByRole("group", { name: "next check" });
    // What comes first may change under the hand while the recording is still being read; then the hand moves again.
    let asked = "";
    await expect
      .poll(async () => {
        asked = await next.locator("h4").innerText();
        const unsure = next.getByRole("button", { name: "could not tell" });
        if ((await unsure.getAttribute("aria-pressed")) !== "true") await unsure.click();
        return next.getByRole("button", { name: "Keep the result" }).isEnabled();
      })
      .toBe(true);
    await next.getByRole("button", { name: "Keep the result" }).click();
    await entered(1);
    await openPart(page, "Hand checks");
    await handChecks().getByText(asked, { exact: true }).waitFor();
    await seen("Crank sensor's plug wiggled", "the speed goes or comes with it", {
      words: "Cleaned: it starts. Wiggled: no speed again.",
      photo: true,
    });
    await entered(2);
    await handChecks().getByRole("textbox", { name: "Caption", exact: true }).fill("Green in the plug");
    await handChecks().getByRole("img", { name: "Green in the plug" }).first().waitFor();

    await changed(plug, "changed", "the fault went away");
    await entered(3);
    await changed(plug, "reversed", "the fault came back");
    await entered(4);
    await plug.locator('[data-proof="proved"]').waitFor({ timeout: 60_000 });
    await page.getByRole("button", { name: "Put the causes on the sheet" }).click();
    await expect.poll(advised, { timeout: 60_000 }).toBe(1);
    await kept();
    const acts = inOrder(job().log).map(({ entry }) => entry);
    expect(acts.flatMap((e) => (e.k === "act" ? [[e.cause, e.did, e.effect]] : []))).toEqual([
      ["crank-signal-contact", "changed", "gone"],
      ["crank-signal-contact", "reversed", "back"],
    ]);
  },
  280_000,
);

test.skipIf(chromium === null)(
  "the other recordings: cylinder balance, the coil that was moved, the lean bank, and before beside after",
  async () => {
    await openFile(visitFiles.shaking);
    await putAll();
    await complain(causes(), "runs rough");
    await seen("Coil moved to another cylinder", "the misfire moves along", {
      words: "Cylinder 3 made no difference; then cylinder 5 made none.",
    });
    await entered(5);
    await openFile(visitFiles.lean);
    await putAll();
    await openFile(visitFiles.after);
    await putAll();
    // That from before the repair under the one on the chart, and both on the sheet with one key.
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
    await expect
      .poll(() => inOrder(job().clips).filter((c) => c.against !== undefined).length, { timeout: 60_000 })
      .toBe(1);
    await openPart(page, "Before/after");
    const pair = page
      .getByRole("region", { name: "Before and after", exact: true })
      .getByRole("article", { name: /^clip from / });
    await pair.scrollIntoViewIfNeeded();
    const chart = pair.getByRole("img");
    await chart.waitFor({ timeout: 60_000 });
    const drawn = decodeURIComponent((await chart.getAttribute("src")) ?? "");
    for (const side of [">before<", ">after<", "bench vehicle, invented data"]) expect(drawn).toContain(side);
    await shot("visit-pair");
    // And the same two compared by figures.
    await page.getByRole("button", { name: "Before and after…" }).click();
    const dialog = page.getByRole("dialog", { name: "Before and after" });
    await dialog.getByRole("combobox", { name: "recording before" }).selectOption(visitFiles.lean);
    await dialog.getByRole("combobox", { name: "recording after" }).selectOption(visitFiles.after);
    await dialog.getByRole("button", { name: "Compare", exact: true }).click({ timeout: 60_000 });
    const verdict = dialog.locator("[data-verdict]");
    await verdict.waitFor({ timeout: 60_000 });
    await shot("visit-before-after");
    // Bank 2's long trim has come down, its limit is no longer reached, and the conditions are alike.
    const trim = dialog.getByRole("row").filter({ hasText: "LTFT, bank 2" }).first();
    expect(await trim.innerText()).toMatch(/lower\s*$/);
    expect(await verdict.getAttribute("data-verdict")).toBe("repaired");
    await dialog.getByRole("button", { name: "Put it on the sheet" }).click();
    await dialog.getByText("It is on the sheet.").waitFor();
    await page.keyboard.press("Escape");

    await writes("What was done", "Plug cleaned. Coil of cylinder 3 renewed. Intake gasket renewed.");
    await writes("Conclusion", "Three faults, one after the other, each shown by its own change.");
    await writes("Still open", "The battery is old.");
    await kept();
    const { recordings, photos, entries } = job();
    expect(inOrder(recordings).map((r) => r.tie.file)).toEqual([liveFile(), ...made]);
    expect(inOrder(photos)).toHaveLength(1);
    expect(inOrder(entries).filter((e) => e.says.kind === "before-after")).toHaveLength(1);
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
      "Crank sensor's plug wiggled",
      "Cleaned: it starts. Wiggled: no speed again.",
      "Coil moved to another cylinder",
      "Crank signal drops out",
      "proved. The fault went away with the change",
      "Repaired: the earlier signs are gone under the same conditions",
      "Fuel trim at its limit, bank 2: gone",
      "The battery is old.",
      "before",
      "after",
    ])
      expect(note).toContain(words);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "that note has no serious accessibility finding, and printed no chart of it is cut in two",
  async () => {
    const html = readFileSync(join(folder.path, "note.html"), "utf8");
    const open = join(folder.path, "note-open.html");
    writeFileSync(open, withoutPolicy(html));
    const reader = await browser.newPage();
    await reader.context().setOffline(true);
    await reader.goto(pathToFileURL(open).href);
    const found = await seriousFindings(reader);
    expect(found.passes).toBeGreaterThan(15);
    expect(found.serious).toEqual([]);
    for (const format of ["A4", "Letter"]) {
      await reader.goto(pathToFileURL(join(folder.path, "note.html")).href);
      const printed = await printedCharts(reader, format);
      expect(printed.charts).toBeGreaterThan(6);
      expect(printed.cut).toEqual([]);
    }
    await reader.close();
  },
  120_000,
);
