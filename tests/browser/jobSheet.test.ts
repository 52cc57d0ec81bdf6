/** The job sheet in a real Chromium: written on the sheet, kept, taken back, found again, and out as a note. */
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { JobDocument } from "../../src/sheet/job.ts";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { KeptPage, type OpenPage } from "../support/keptPage.ts";
import { background, crankside, service, tempFolder, type Background } from "../support/program.ts";
import { findCheck, openPart } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";

const folder = tempFolder();
let running: Background | null = null;
let browser: Browser | null = null;
let window: KeptPage | null = null;

beforeAll(async () => {
  if (chromium === null) return;
  build();
  const out = join(folder.path, "2024-03-02-090000-van.ndjson");
  const made = await crankside([
    ...["bench", "--vehicle", "garden-van", "--fault", "no-crank-signal", "--script", "crank-only"],
    ...["--out", out],
  ]);
  if (made.status !== 0) throw new Error(made.stderr);
  running = await service(folder.path);
  browser = await sharedBrowser();
}, 180_000);

afterAll(async () => {
  await browser?.close();
  await running?.stop();
  folder.remove();
});

/** Loads the page anew. */
async function openRecording(page: Page): Promise<void> {
  await page.goto(running?.said[1] ?? "");
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  await page
    .getByRole("button", { name: /^open .*van\.ndjson$/ })
    .first()
    .click();
  await page.getByRole("toolbar", { name: "job tools" }).waitFor();
  await openPart(page, "Job and note");
}

const size = { width: 1280, height: 900 };

/** The one window, with nothing in it. */
async function newPage(): Promise<OpenPage> {
  if (browser === null) throw new Error("no browser was started");
  window ??= await KeptPage.make(browser);
  return window.forget(running?.said[1] ?? "", size);
}

function jobOnDisk(): JobDocument {
  const jobs = join(folder.path, "jobs");
  const [id = ""] = readdirSync(jobs).filter((name) => /^\d{4}-/.test(name));
  return JSON.parse(readFileSync(join(jobs, id, "job.json"), "utf8")) as JobDocument;
}

const kept = (page: Page): Promise<void> => page.locator('.job[data-saved="kept"]').waitFor();

test.skipIf(chromium === null)(
  "a sign and a stretch go on the sheet, words are typed there, undone, and are there after a reload",
  async () => {
    const { page, errors } = await newPage();
    await openRecording(page);
    await openPart(page, "Evidence");
    await page
      .getByRole("button", { name: /^put on the sheet: / })
      .first()
      .click();
    await openPart(page, "Job and note");
    await page.getByText("On the sheet", { exact: true }).waitFor();
    // What was kept before it was put there says so too: the disk tells.
    await expect.poll(() => Object.values(jobOnDisk().entries)).toHaveLength(1);
    await kept(page);
    const first = jobOnDisk();
    expect(Object.values(first.clips)).toHaveLength(1);
    expect(Object.values(first.recordings)[0]?.tie.sha256).toMatch(/^[0-9a-f]{64}$/);

    await page.getByRole("toolbar", { name: "chart tools" }).focus();
    await page.keyboard.press("j");
    await expect.poll(() => Object.values(jobOnDisk().clips).length).toBe(2);

    const conclusion = page.getByRole("textbox", { name: "Conclusion, in your words" });
    await conclusion.fill("The signal is missing while the starter turns.");
    await kept(page);
    expect(jobOnDisk().texts.conclusion).toBe("The signal is missing while the starter turns.");
    await page.getByRole("button", { name: "Undo" }).click();
    await kept(page);
    expect(jobOnDisk().texts.conclusion ?? "").toBe("");
    await page.getByRole("button", { name: "Redo" }).click();
    await kept(page);

    await openRecording(page);
    expect(await page.getByRole("textbox", { name: "Conclusion, in your words" }).inputValue()).toBe(
      "The signal is missing while the starter turns.",
    );
    expect(errors).toEqual([]);
  },
  90_000,
);

test.skipIf(chromium === null)(
  "words that were typed while the program was away are kept once it is back, also across a reload",
  async () => {
    const { page } = await newPage();
    await openRecording(page);
    await page.route("**/api/jobs/*/changes", (route) => route.abort());
    await page.getByRole("textbox", { name: "What was done, in your words" }).fill("Plug cleaned.");
    await page.locator('.job[data-saved="failed"]').waitFor();
    await page.unroute("**/api/jobs/*/changes");
    await openRecording(page);
    await kept(page);
    await expect.poll(() => jobOnDisk().texts.done).toBe("Plug cleaned.");
  },
  120_000,
);

test.skipIf(chromium === null)(
  "two pages on one job keep what both wrote, and say where both wrote in one field",
  async () => {
    const a = await newPage();
    if (browser === null) throw new Error("no browser was started");
    const b = { page: await browser.newPage({ viewport: size }) };
    await openRecording(a.page);
    await openRecording(b.page);
    await a.page.getByRole("textbox", { name: "Still open, in your words" }).fill("The battery.");
    await b.page.getByRole("textbox", { name: "Customer" }).fill("M. Gardener");
    await kept(a.page);
    await kept(b.page);
    await expect.poll(() => jobOnDisk().who.customer).toBe("M. Gardener");
    expect(jobOnDisk().texts.open).toBe("The battery.");
    // The other page sees it without being asked.
    await expect
      .poll(() => b.page.getByRole("textbox", { name: "Still open, in your words" }).inputValue(), {
        timeout: 15_000,
      })
      .toBe("The battery.");

    await b.page.route("**/api/jobs/*?since=*", (route) => route.abort());
    await a.page
      .getByRole("textbox", { name: "Still open, in your words" })
      .fill("The battery, and its clamp.");
    await kept(a.page);
    await b.page.getByRole("textbox", { name: "Still open, in your words" }).fill("Nothing.");
    await b.page.getByRole("alert").filter({ hasText: "The battery, and its clamp." }).waitFor();
    await b.page.getByRole("button", { name: "Take theirs" }).click();
    await kept(b.page);
    expect(jobOnDisk().texts.open).toBe("The battery, and its clamp.");
    await b.page.close();
  },
  90_000,
);

test.skipIf(chromium === null)(
  "the program is started anew while words are typed: they are kept; a half-filled form outlives a reload",
  async () => {
    const { page } = await newPage();
    await openRecording(page);
    const { port } = new URL(running?.said[1] ?? "");
    await running?.stop();
    await page.getByRole("textbox", { name: "Conclusion, in your words" }).fill("A contact in the plug.");
    await page.locator('.job[data-saved="failed"]').waitFor();
    running = await background(
      ["serve", "--no-open", "--port", port, "--folder", folder.path],
      /Crankside is at (http:\S+)/,
    );
    await kept(page);
    await expect.poll(() => jobOnDisk().texts.conclusion).toBe("A contact in the plug.");

    const causes = page.getByRole("region", { name: "likely causes and the next check" });
    await findCheck(causes, "Crank sensor's plug wiggled");
    const words = page
      .getByRole("group", { name: "another hand check" })
      .getByRole("textbox", { name: "In your words" });
    await words.fill("Wiggled, and");
    await openRecording(page);
    await expect.poll(() => words.inputValue()).toBe("Wiggled, and");
    await page.getByRole("button", { name: "not this one" }).click();
  },
  120_000,
);

test.skipIf(chromium === null)(
  "a photo is scaled and stripped, and the note shows it all",
  async () => {
    const { page, errors } = await newPage();
    await openRecording(page);
    // A large picture drawn by the browser itself.
    const bytes = await page.evaluate<number[]>(`(async () => {
      const canvas = document.createElement("canvas");
      canvas.width = 3000;
      canvas.height = 1500;
      const context = canvas.getContext("2d");
      context.fillStyle = "#0072b2";
      context.fillRect(0, 0, 1500, 1500);
      const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/png"));
      return [...new Uint8Array(await blob.arrayBuffer())];
    })()`);
    await openPart(page, "Hand checks");
    const part = page.getByRole("region", { name: "Hand checks" });
    await part.locator('input[type="file"]').setInputFiles({
      name: "../../bore.png",
      mimeType: "image/png",
      buffer: Buffer.from(bytes),
    });
    await part.getByRole("img").waitFor();
    await part.getByRole("textbox", { name: "Caption" }).fill("Look down the bore");
    await kept(page);
    const [photo] = Object.values(jobOnDisk().photos);
    expect(photo).toMatchObject({
      width: 2000,
      height: 1000,
      type: "image/jpeg",
      caption: "Look down the bore",
    });

    await part.locator('input[type="file"]').setInputFiles({
      name: "drawing.svg",
      mimeType: "image/svg+xml",
      buffer: Buffer.from("<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"),
    });
    await page.getByText("a JPEG, PNG or WebP picture").first().waitFor();

    await page.getByRole("button", { name: "Note", exact: true }).click();
    const note = page.frameLocator('iframe[title="The note as it leaves"]');
    await note.getByText("bench vehicle, invented data", { exact: false }).first().waitFor();
    await note.getByAltText("Look down the bore").waitFor();
    await page.screenshot({ path: join(folder.path, "note.png") });
    const keep = process.env["KEEP_SHOTS"];
    if (keep !== undefined) await page.screenshot({ path: join(keep, "note-dialog.png") });
    await page.keyboard.press("Escape");
    if (keep !== undefined) await page.screenshot({ path: join(keep, "sheet.png") });
    expect(errors.filter((e) => !e.includes("photo"))).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "words of one's own keep the figures; a photo is dropped; the VIN is checked; parts are left out; the note is printed; the recording moves in",
  async () => {
    const { page, errors } = await newPage();
    await openRecording(page);
    const signs = page.getByRole("region", { name: "Signs", exact: true }).last();
    const reworded = signs.getByRole("textbox", { name: /, reworded$/ }).first();
    await reworded.fill("The starter turns it, and nothing is seen of it.");
    const figures = signs.getByText("Figures", { exact: true }).first();
    await figures.click();
    await signs
      .getByText(/^Measured /)
      .first()
      .waitFor();

    const open = page.getByRole("region", { name: "Still open" });
    const dropped = await page.evaluateHandle(`(() => {
      const one = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==";
      const bytes = Uint8Array.from(atob(one), (c) => c.charCodeAt(0));
      const data = new DataTransfer();
      data.items.add(new File([bytes], "plug.png", { type: "image/png" }));
      return data;
    })()`);
    await open.locator(".drop").dispatchEvent("drop", { dataTransfer: dropped });
    await open.getByRole("img").waitFor();

    await page.getByText("Engine and place").first().click();
    const vin = page.getByRole("textbox", { name: "VIN" }).first();
    // The worked example of the encyclopaedia article on the number; its check digit is X.
    await vin.fill("1M8GDM9AXKP042788");
    await page.getByRole("tabpanel").getByText("check digit fits").first().waitFor();
    await vin.fill("1M8GDM9A1KP042788");
    await page.getByRole("tabpanel").getByText("check digit differs").first().waitFor();
    await kept(page);

    await page.getByRole("button", { name: "Note", exact: true }).focus();
    await page.keyboard.press("Enter");
    const note = page.frameLocator('iframe[title="The note as it leaves"]');
    await note.getByRole("heading", { name: "Still open" }).waitFor();
    await note.getByText("The starter turns it, and nothing is seen of it.").waitFor();
    await note
      .getByText(/^Measured /)
      .first()
      .waitFor();
    await note.getByText("typed; check digit differs", { exact: false }).first().waitFor();
    await page.getByRole("checkbox", { name: "Still open" }).focus();
    await page.keyboard.press("Space");
    await note.getByRole("heading", { name: "Still open" }).waitFor({ state: "detached" });
    await note.getByRole("heading", { name: "Evidence in the order of time" }).waitFor();
    // The browser's own dialog has no place in a test: that the note is handed to it is looked at.
    await page.evaluate(
      `document.querySelector("iframe").contentWindow.print = () => (window.printed = true)`,
    );
    await page.getByRole("button", { name: "Print" }).focus();
    await page.keyboard.press("Enter");
    expect(await page.evaluate("window.printed")).toBe(true);
    await page.keyboard.press("Escape");

    await page.getByRole("button", { name: /^move .* into the job's folder$/ }).click();
    await page.getByText("is in the job's folder now").first().waitFor();
    const { id } = jobOnDisk();
    expect(existsSync(join(folder.path, "jobs", id, "recordings", "2024-03-02-090000-van.ndjson"))).toBe(
      true,
    );
    // From there it is opened by its job.
    await page.goto(running?.said[1] ?? "");
    await page
      .getByRole("region", { name: "the job" })
      .getByRole("button", { name: "2024-03-02-090000-van.ndjson" })
      .click();
    await openPart(page, "Job and note");
    await signs
      .getByRole("article", { name: /^clip from / })
      .first()
      .scrollIntoViewIfNeeded();
    await signs.getByRole("img").first().waitFor();
    expect(errors.filter((e) => !e.includes("ERR_CONNECTION"))).toEqual([]);
  },
  90_000,
);
