/** Causes, hand checks, proof, before and after on the job sheet in a real Chromium: by mouse and by keyboard. */
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import type { Browser, Locator, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { foldLog, type LogEntry } from "../../src/interpret/causes/results.ts";
import { inOrder, newJob, type JobDocument } from "../../src/sheet/job.ts";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { KeptPage, type OpenPage } from "../support/keptPage.ts";
import { crankside, service, tempFolder, type Background } from "../support/program.ts";
import { complain, findCheck, openPart } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";

const folder = tempFolder();
const broken = "2024-03-02-090000-van.ndjson";
const mended = "2024-03-02-150000-van.ndjson";
let running: Background | null = null;
let browser: Browser | null = null;
let window: KeptPage | null = null;

async function record(file: string, more: readonly string[]): Promise<void> {
  const made = await crankside([
    "bench",
    "--vehicle",
    "garden-van",
    ...more,
    "--out",
    join(folder.path, file),
  ]);
  if (made.status !== 0) throw new Error(made.stderr);
}

beforeAll(async () => {
  if (chromium === null) return;
  build();
  [browser] = await Promise.all([
    sharedBrowser(),
    record(broken, ["--fault", "no-crank-signal", "--script", "crank-only"]),
    record(mended, ["--script", "crank-only"]),
  ]);
  running = await service(folder.path);
}, 180_000);

afterAll(async () => {
  await browser?.close();
  await running?.stop();
  folder.remove();
});

async function opened(size = { width: 1280, height: 900 }): Promise<OpenPage> {
  if (browser === null) throw new Error("no browser was started");
  window ??= await KeptPage.make(browser);
  const opened = await window.open(running?.said[1] ?? "", size);
  const { page } = opened;
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  await page
    .getByRole("button", { name: `open ${broken}` })
    .first()
    .click();
  await page.getByRole("group", { name: "next check" }).waitFor();
  return opened;
}

function job(): JobDocument {
  const jobs = join(folder.path, "jobs");
  if (!existsSync(jobs)) return newJob("none-yet", "2024-03-02T09:00:00.000+01:00");
  const [id = ""] = readdirSync(jobs).filter((name) => /^\d{4}-/.test(name));
  return JSON.parse(readFileSync(join(jobs, id, "job.json"), "utf8")) as JobDocument;
}

/** On a busy machine what is typed takes its time to the disk. */
const eventually = <T>(look: () => T): ReturnType<typeof expect.poll<T>> => expect.poll(look);
const entries = (): LogEntry[] => inOrder(job().log).map((item) => item.entry);
const kept = (page: Page): Promise<void> => page.locator('.job[data-saved="kept"]').waitFor();
const nextOf = (page: Page): Locator => page.getByRole("group", { name: "next check" });
const causesOf = (page: Page): Locator =>
  page.getByRole("region", { name: "likely causes and the next check" });
/** What was weighed is told. */
const weighed = (page: Page): Promise<void> => page.locator('section[aria-busy="false"]').first().waitFor();

async function shot(page: Page, name: string): Promise<void> {
  const keep = process.env["KEEP_SHOTS"];
  if (keep !== undefined) await page.screenshot({ path: join(keep, `${name}.png`), fullPage: true });
}

test.skipIf(chromium === null)(
  "the likely causes stand with what speaks for them, the next check with its steps, caution and outcomes",
  async () => {
    const { page, errors } = await opened();
    const causes = causesOf(page);
    await causes.getByText(/^Complaint:/).click();
    expect(await causes.getByRole("checkbox", { name: "does not start" }).isChecked()).toBe(true);
    await causes.getByText("taken from what the recording shows").waitFor();
    // No percentage to a false digit: twentieths at the finest.
    await causes
      .getByText(/^None of these: /)
      .first()
      .click();
    await nextOf(page).getByText("Why this one").click();
    const text = await causes.innerText();
    for (const [, figure = ""] of text.matchAll(/(\d+(?:\.\d+)?) %/g))
      expect(Number(figure) % 5, figure).toBe(0);
    expect(text).toMatch(/The first place (?:holds|is not stable)/);
    const next = nextOf(page);
    expect(await next.locator("ol li").count()).toBeGreaterThan(0);
    expect(await next.getByRole("button", { name: "could not tell" }).isVisible()).toBe(true);
    expect(await next.innerText()).toMatch(/Separates/);
    await shot(page, "causes-light");
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "the person's own order and choice override and are said, a lacking tool leaves its checks out",
  async () => {
    // Before anything is entered there are several checks to choose from.
    const { page } = await opened();
    const causes = causesOf(page);
    const second = causes
      .getByRole("listitem")
      .filter({ has: page.getByRole("article") })
      .nth(1);
    await second.locator("summary").first().click();
    await second.getByRole("button", { name: /^put first: / }).click();
    await causes
      .getByText(/^None of these: /)
      .first()
      .click();
    await causes.getByText(/^Put first by hand: /).waitFor();
    await causes.getByRole("button", { name: "back to the calculated order" }).click();
    await eventually(() => causes.getByText(/^Put first by hand: /).count()).toBe(0);

    await causes.getByText(/^Also worth doing: /).click();
    await causes
      .getByRole("button", { name: /^do .* next$/ })
      .first()
      .click();
    await nextOf(page).getByText("Chosen by hand.").waitFor({ state: "attached" });
    await causes.getByRole("button", { name: "back to the suggested check" }).click();
    await eventually(() => nextOf(page).getByText("Chosen by hand.").count()).toBe(0);

    await openPart(page, "Hand checks");
    await page.getByText(/^Tools, and what an hour costs/).click();
    for (const tool of ["multimeter", "spark tester", "test lamp"])
      await page.getByRole("checkbox", { name: tool, exact: true }).uncheck();
    await causes.getByText(/^Left out: /).click();
    await causes
      .getByText(/: needs multimeter/)
      .first()
      .waitFor();
    for (const tool of ["multimeter", "spark tester", "test lamp"])
      await page.getByRole("checkbox", { name: tool, exact: true }).check();

    await complain(causes, "runs lean");
    await causes.getByText("chosen here").waitFor();
    await causes.getByRole("button", { name: "as the words or the recording say" }).click();
    await causes.getByText("taken from what the recording shows").waitFor();
    await kept(page);
    expect(job().advice.complaints).toBeUndefined();
  },
  120_000,
);

test.skipIf(chromium === null)(
  "by keyboard alone: to the next check, an outcome by its number, kept with Enter",
  async () => {
    const { page } = await opened();
    await weighed(page);
    const title = await nextOf(page).locator("h4").innerText();
    await page.keyboard.press("x");
    await page.keyboard.press("1");
    // The digit chose an outcome and did not change what is on the chart's paper.
    expect(await nextOf(page).locator('[aria-pressed="true"]').count()).toBe(1);
    await page.keyboard.press("Enter");
    await kept(page);
    await eventually(() => entries().length).toBe(1);
    await openPart(page, "Hand checks");
    await page.getByRole("region", { name: "Hand checks" }).getByText(title, { exact: true }).waitFor();
    // What is entered brings the causes along, as they stand then.
    await eventually(() => inOrder(job().entries).filter((e) => e.says.kind === "advice").length).toBe(1);
    await eventually(() => nextOf(page).locator("h4").innerText()).not.toBe(title);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "another check with a reading: what cannot be is questioned; corrected and withdrawn with the history kept",
  async () => {
    const { page, errors } = await opened();
    await findCheck(causesOf(page), "Battery voltage at rest");
    const card = page.getByRole("group", { name: "another hand check" });
    await card.getByRole("textbox", { name: /^Reading:/ }).fill("125");
    await card.getByText(/125 V is not possible/).waitFor();
    await card.getByRole("textbox", { name: /^Reading:/ }).fill("11.4");
    await card.getByText("The reading says: under 12.0 V.").waitFor();
    await card.getByRole("textbox", { name: "In your words" }).fill("Lamps had been on.");
    await card.getByText("When, by whom, photo, place in the recording").click();
    await card.getByRole("textbox", { name: "By", exact: true }).fill("Jo");
    await card.getByRole("combobox", { name: "Place in the recording" }).selectOption({ index: 1 });
    await card.getByRole("button", { name: "Keep the result" }).click();
    await kept(page);
    await eventually(() => entries().length).toBe(2);
    const log = (): ReturnType<typeof foldLog> => foldLog(entries());
    const first = log().results.find((r) => r.check === "rest-voltage");
    expect(first).toMatchObject({ state: "used", outcome: "flat", by: "Jo" });
    expect(first?.latest.link?.recording).toBe(broken);

    await openPart(page, "Hand checks");
    const part = page.getByRole("region", { name: "Hand checks" });
    await part.getByRole("button", { name: "correct Battery voltage at rest" }).click();
    const correction = part.getByRole("form", { name: "correct Battery voltage at rest" });
    await correction.getByRole("textbox", { name: /^Reading:/ }).fill("12.5");
    await correction.getByRole("button", { name: "Keep the correction" }).click();
    await eventually(() => log().results.find((r) => r.check === "rest-voltage")?.outcome).toBe("charged");
    await part.getByText("History: 2 entries").click();
    await part.getByText(/entered: 11.4 V; Lamps had been on/).waitFor();

    await part.getByRole("button", { name: "withdraw Battery voltage at rest" }).click();
    const withdrawing = part.getByRole("form", { name: "withdraw Battery voltage at rest" });
    await withdrawing.getByRole("textbox").fill("wrong battery");
    await withdrawing.getByRole("button", { name: "Withdraw it" }).click();
    await eventually(() => log().results.find((r) => r.check === "rest-voltage")?.state).toBe("withdrawn");
    await part.getByText("History: 3 entries").waitFor();
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "changed, works, changed back, fails: proved, with its wording on the sheet and in the note",
  async () => {
    const { page, errors } = await opened();
    const causes = causesOf(page);
    const first = causes.locator("ol > li").first();
    const name = await first.locator("strong").first().innerText();
    const enter = async (did: string, effect: string, photo = false): Promise<void> => {
      const before = entries().length;
      const form = first.getByRole("form", { name: "what was changed" });
      if ((await form.count()) === 0)
        await first.getByRole("button", { name: `something was changed for ${name}` }).click();
      await form.getByRole("combobox", { name: "What was done" }).selectOption(did);
      await form.getByRole("button", { name: effect }).click();
      if (photo) {
        await form.getByText("When, by whom, photo, place in the recording").click();
        const file = { name: "part.png", mimeType: "image/png", buffer: await page.screenshot() };
        await form.locator('input[type="file"]').setInputFiles(file);
      }
      await form.getByRole("button", { name: "Keep the change" }).click();
      await eventually(() => entries().length).toBe(before + 1);
      await kept(page);
    };
    await enter("changed", "the fault went away", true);
    await first.locator('[data-proof="shown"], [data-proof="proved"]').waitFor();
    const act = entries().at(-1);
    const shown = act?.k === "act" ? job().photos[act.photo ?? ""] : undefined;
    expect(shown?.caption).toBe(name);
    expect(shown?.section).toBe("checks");
    await enter("reversed", "the fault stayed away");
    await first.locator('[data-proof="shown"]').waitFor();
    await first
      .getByText(/an intermittent contact that was moved meanwhile is not excluded/)
      .first()
      .waitFor();
    await enter("changed", "the fault went away");
    await enter("reversed", "the fault came back");
    await first.locator('[data-proof="proved"]').waitFor();
    await first
      .getByText(/came back when it was undone/)
      .first()
      .waitFor();
    await shot(page, "causes-proved");
    await page.getByRole("button", { name: "Note", exact: true }).click();
    const note = page.frameLocator('iframe[title="The note as it leaves"]');
    await note
      .getByText(/proved\. The fault went away with the change/)
      .first()
      .waitFor();
    await page.keyboard.press("Escape");
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "before and after: chosen, compared with its uncertainty, its verdict said, and on the note",
  async () => {
    const { page, errors } = await opened();
    await openPart(page, "Before/after");
    await page.getByRole("button", { name: "Before and after…" }).click();
    const dialog = page.getByRole("dialog", { name: "Before and after" });
    await dialog.getByRole("combobox", { name: "recording after" }).selectOption(mended);
    await dialog.getByRole("button", { name: "Compare", exact: true }).click();
    const verdict = dialog.locator("[data-verdict]");
    await verdict.waitFor();
    expect(await verdict.getAttribute("data-verdict")).toBe("repaired");
    await dialog.getByRole("cell", { name: "voltage at the socket" }).waitFor();
    expect(await dialog.getByRole("table").innerText()).toMatch(/ at 9\d %/);
    await shot(page, "before-after");
    await dialog.getByRole("button", { name: "Put it on the sheet" }).click();
    await dialog.getByText("It is on the sheet.").waitFor();
    await page.keyboard.press("Escape");
    await kept(page);
    expect(inOrder(job().entries).some((e) => e.says.kind === "before-after")).toBe(true);
    await page.getByRole("button", { name: "Note", exact: true }).click();
    const note = page.frameLocator('iframe[title="The note as it leaves"]');
    await note
      .getByText(/Repaired: the earlier signs are gone under the same conditions/)
      .first()
      .waitFor();
    await note.getByRole("cell", { name: "voltage at the socket" }).first().waitFor();
    await page.keyboard.press("Escape");
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "on a phone and in the dark nothing runs over the edge",
  async () => {
    const { page } = await opened({ width: 390, height: 844 });
    await page.evaluate('document.documentElement.dataset.tone = "dark"');
    await shot(page, "causes-390-dark");
    expect(await page.evaluate("document.documentElement.scrollWidth - innerWidth")).toBeLessThanOrEqual(0);
  },
  120_000,
);
