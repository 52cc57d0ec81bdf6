/** What a person does with jobs on the page in a real Chromium: words that outlive the tab, parts, bundles, jobs. */
import { appendFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "csv-parse/sync";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { inOrder } from "../../src/sheet/job.ts";
import { JobPages, kept, tcpAddress, tcpFile, vanFile } from "../support/jobPages.ts";
import { chromium } from "../support/tools.ts";
import { entriesOf } from "../support/unzip.ts";

let pages: JobPages;
let context: BrowserContext;

beforeAll(async () => {
  if (chromium === null) return;
  pages = await JobPages.start();
  context = await pages.browser.newContext({ acceptDownloads: true });
}, 180_000);

afterAll(async () => {
  if (chromium !== null) await pages.stop();
});

/** On a busy machine what is done takes its time to the page and to the disk. */
const eventually = <T>(look: () => T): ReturnType<typeof expect.poll<T>> => expect.poll(look);

const own = (page: Page, part: string) => page.getByRole("textbox", { name: `${part}, in your words` });

test.skipIf(chromium === null)(
  "a crank and the cranks go on the sheet with the stretch that shows them, drawn there",
  async () => {
    const page = await pages.openRecording(context);
    await page.getByRole("button", { name: "put crank 1 on the sheet" }).click();
    const cranks = page.getByRole("region", { name: "Cranks", exact: true });
    // It is drawn when it comes into sight.
    await cranks.getByRole("article", { name: /^clip from / }).scrollIntoViewIfNeeded();
    await cranks.getByRole("img", { name: /^Chart from / }).waitFor();
    await kept(page);
    const [entry] = inOrder(pages.job().entries);
    const [clip] = inOrder(pages.job().clips);
    expect([entry?.says.kind, clip?.section, clip?.of]).toEqual(["crank", "cranks", entry?.id]);
    // Drawn in this page, not asked for, and it did load as a picture.
    const image = cranks.getByRole("img", { name: /^Chart from / });
    expect(await image.getAttribute("src")).toMatch(/^data:image\/svg\+xml/);
    const width = `document.querySelector('img[alt^="Chart from"]').naturalWidth`;
    await eventually(() => page.evaluate<number>(width)).toBe(400);
    const drawn = decodeURIComponent((await image.getAttribute("src")) ?? "");
    expect(drawn).toContain("bench vehicle, invented data");
  },
  90_000,
);

test.skipIf(chromium === null)(
  "items move within their part and to another by keyboard alone, and the help names the key for the sheet",
  async () => {
    const page = await pages.openRecording(context);
    await page.getByRole("toolbar", { name: "chart tools" }).focus();
    await page.keyboard.press("?");
    await page.getByText("put the stretch in view on the job sheet").waitFor();
    await page.keyboard.press("Escape");
    for (const n of [2, 3]) {
      await page.getByRole("toolbar", { name: "chart tools" }).focus();
      await page.keyboard.press("j");
      await eventually(() => inOrder(pages.job().clips).length).toBe(n);
    }
    const inSigns = (): string[] =>
      inOrder(pages.job().clips)
        .filter((c) => c.section === "signs")
        .map((c) => c.id);
    const before = inSigns();
    expect(before).toHaveLength(2);
    await page
      .locator(`#item-${before[1]}`)
      .getByRole("button", { name: /^move .* up$/ })
      .focus();
    await page.keyboard.press("Enter");
    await eventually(inSigns).toEqual([...before].reverse());
    // The keyboard is still at what it moved.
    expect(await page.evaluate("document.activeElement.id")).toBe(`item-${before[1]}`);
    await page
      .locator(`#item-${before[1]}`)
      .getByRole("combobox", { name: /^part in which / })
      .focus();
    await page.keyboard.type("Still");
    await page.keyboard.press("Enter");
    await eventually(() => pages.job().clips[before[1] ?? ""]?.section).toBe("open");
    await page.getByRole("region", { name: "Still open" }).locator(`#item-${before[1]}`).waitFor();
    // And back, in one step.
    await page.locator(`#item-${before[1]}`).focus();
    await page.keyboard.press("Control+z");
    await eventually(inSigns).toEqual([...before].reverse());
  },
  90_000,
);

test.skipIf(chromium === null)(
  "words that were typed while the program was away, in a tab that was then closed, are kept by the next one",
  async () => {
    const page = await pages.openRecording(context);
    await page.route("**/api/jobs/*/changes", (route) => route.abort());
    await own(page, "What was done").fill("Plug cleaned.");
    await page.locator('.job[data-saved="failed"]').waitFor();
    // Kept beside the page, so the browser need not ask.
    let asked = false;
    page.on("dialog", (dialog) => {
      asked = true;
      void dialog.accept();
    });
    await page.close({ runBeforeUnload: true });
    await eventually(() => page.isClosed()).toBe(true);
    expect(asked).toBe(false);
    expect(pages.job().texts.done).toBeUndefined();
    await pages.openRecording(context);
    await expect.poll(() => pages.job().texts.done).toBe("Plug cleaned.");
  },
  90_000,
);

test.skipIf(chromium === null)(
  "where storage is off the page says so, and the browser asks before words are lost",
  async () => {
    const careless = await pages.browser.newContext();
    await careless.addInitScript(
      `Object.defineProperty(window, "localStorage", { get() { throw new DOMException("off", "SecurityError"); } });`,
    );
    const page = await pages.openRecording(careless);
    await page.getByText("This browser stores nothing.").waitFor();
    await page.route("**/api/jobs/*/changes", (route) => route.abort());
    await own(page, "Conclusion").pressSequentially("A contact.");
    await page.locator('.job[data-saved="failed"]').waitFor();
    const asked = page.waitForEvent("dialog");
    await page.close({ runBeforeUnload: true });
    const dialog = await asked;
    expect(dialog.type()).toBe("beforeunload");
    await dialog.dismiss();
    await page.unroute("**/api/jobs/*/changes");
    await expect.poll(() => pages.job().texts.conclusion).toBe("A contact.");
    await careless.close();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "Markdown, readings and a bundle leave from the page, and the bundle comes back as a job of its own",
  async () => {
    const page = await pages.openRecording(context);
    const take = async (name: string): Promise<Buffer> => {
      const download = page.waitForEvent("download");
      await page.getByRole("link", { name }).click();
      return readFileSync(await (await download).path());
    };
    await page.getByRole("button", { name: "Note", exact: true }).click();
    await page.getByText("A bundle holds its recordings whole").waitFor();
    const markdown = await entriesOf(await take("Markdown with pictures (zip)"));
    expect(String(markdown.get("note.md"))).toContain("Plug cleaned.");
    const clips = await entriesOf(await take("Readings of the clips, CSV (zip)"));
    const rows = parse<Record<string, string>>(clips.get("clips/clip-1.csv") ?? "", { columns: true });
    expect(rows[0]?.["time (ISO 8601)"]).toMatch(/^\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)$/);
    // Two modules of this van tell a speed: the column says of which it is.
    expect(Object.keys(rows[0] ?? {})).toContain("engine-speed@7E8 (rpm)");
    const bundle = await take("Bundle with recordings (zip)");
    expect((await entriesOf(bundle)).get(`recordings/${vanFile}`)).toEqual(
      readFileSync(join(pages.folder, vanFile)),
    );
    await page.getByRole("checkbox", { name: "names" }).check();
    await page.getByText("Recordings stay out of the bundle").waitFor();
    const masked = await entriesOf(await take("Bundle without recordings (zip)"));
    expect([...masked.keys()].filter((name) => name.startsWith("recordings/"))).toEqual([]);
    await page.keyboard.press("Escape");

    await page.getByRole("button", { name: "Jobs", exact: true }).click();
    const picked = page.getByLabel("Open a bundle from another machine (.zip)");
    await picked.setInputFiles({ name: "x.zip", mimeType: "application/zip", buffer: Buffer.from("no zip") });
    await page.getByRole("dialog").getByText("not a bundle").first().waitFor();
    await picked.setInputFiles({ name: "van.zip", mimeType: "application/zip", buffer: bundle });
    await page.getByText(/^All \d+ files match their checksums/).waitFor();
    expect(pages.jobIds()).toHaveLength(2);
  },
  90_000,
);

test.skipIf(chromium === null)(
  "jobs are found by what was written, archived, and opened again",
  async () => {
    const page = await pages.openRecording(context);
    await page.getByRole("button", { name: "Jobs", exact: true }).click();
    const dialog = page.getByRole("dialog");
    await dialog.getByRole("textbox", { name: "New job" }).fill("Orchard hatch");
    await dialog.getByRole("button", { name: "Begin" }).click();
    await dialog.waitFor({ state: "detached" });
    await own(page, "Conclusion").fill("Nothing found yet.");
    await kept(page);
    await page.getByRole("button", { name: "Jobs", exact: true }).click();
    await dialog.getByRole("searchbox").fill("nothing FOUND");
    await eventually(() => dialog.getByRole("listitem").allInnerTexts()).toHaveLength(1);
    await dialog.getByRole("button", { name: "put into the archive: Orchard hatch" }).click();
    await dialog.getByText("None.").waitFor();
    await dialog.getByRole("checkbox", { name: "archived jobs too" }).check();
    await dialog.getByRole("searchbox").fill("orchard");
    await dialog.getByRole("button", { name: "take out of the archive: Orchard hatch" }).waitFor();
    await dialog.getByRole("button", { name: "Orchard hatch", exact: true }).click();
    await eventually(() => own(page, "Conclusion").inputValue()).toBe("Nothing found yet.");
  },
  90_000,
);

test.skipIf(chromium === null)(
  "the last job opens by itself at the hookup, with its vehicle and where it was heard from; words typed there are its own",
  async () => {
    const page = await pages.openRecording(context, tcpFile);
    await page.getByRole("button", { name: "this recording" }).click();
    await page.getByRole("textbox", { name: "Complaint" }).fill("Shakes when warm.");
    await kept(page);
    const id = pages.jobIds().find((name) => name.endsWith("orchard-hatch")) ?? "";
    await eventually(() => inOrder(pages.job(id).recordings).length).toBe(1);
    await page.close();
    const next = await context.newPage();
    await next.goto(pages.url);
    const form = next.getByRole("region", { name: "the job" });
    await eventually(() => form.getByRole("textbox", { name: "Complaint" }).inputValue()).toBe(
      "Shakes when warm.",
    );
    expect(await form.getByRole("textbox", { name: "Vehicle" }).inputValue()).toBe("Orchard hatch");
    await form.getByRole("button", { name: tcpFile }).waitFor();
    await next.getByRole("radio", { name: "Network adapter", exact: true, checked: true }).waitFor();
    expect(await next.getByRole("textbox", { name: "Address and port" }).inputValue()).toBe(tcpAddress);
    await form.getByRole("textbox", { name: "Complaint" }).fill("Shakes when warm, not when cold.");
    await eventually(() => pages.job(id).texts.complaint).toBe("Shakes when warm, not when cold.");
    // A tab that is closed at once: what was typed is there again.
    await form.getByText("Engine and place").click();
    await form.getByRole("textbox", { name: "Odometer" }).fill("187400");
    await next.close();
    const third = await context.newPage();
    await third.goto(pages.url);
    await third.getByText("Engine and place").click();
    await eventually(() => third.getByRole("textbox", { name: "Odometer" }).inputValue()).toBe("187400");
    await third.close();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "a clip whose recording was altered or taken away says so on the sheet, and is not drawn",
  async () => {
    const page = await pages.openRecording(context);
    await page.getByRole("toolbar", { name: "chart tools" }).focus();
    await page.keyboard.press("j");
    const signs = page.getByRole("region", { name: "Signs", exact: true }).last();
    const clip = signs.getByRole("article", { name: /^clip from / }).first();
    await clip.scrollIntoViewIfNeeded();
    await signs.getByRole("img").first().waitFor();
    await kept(page);
    const path = join(pages.folder, vanFile);
    const whole = readFileSync(path);
    const check = page.getByRole("button", { name: "Check against the sheet again" });
    // A mark that is added later loosens nothing.
    appendFileSync(path, `${JSON.stringify({ t: 90_000, k: "mark", id: "x", at: 1, label: "later" })}\n`);
    const looked = page.waitForResponse("**/ties");
    await check.click();
    await looked;
    expect(await signs.getByRole("alert").count()).toBe(0);
    writeFileSync(path, String(whole).replace('"t":', '"t": '));
    await check.click();
    await signs.getByRole("alert").getByText("was altered").first().waitFor();
    expect(await signs.getByRole("img").count()).toBe(0);
    writeFileSync(path, whole);
    await check.click();
    await eventually(() => signs.getByRole("alert").count()).toBe(0);
    // It is drawn when it comes into sight: the button stands elsewhere on the sheet.
    await clip.scrollIntoViewIfNeeded();
    await signs.getByRole("img").first().waitFor();
    await page.close();
  },
  90_000,
);
