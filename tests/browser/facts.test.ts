/** Whose facts hold: what the sheet shows is what the interpreter is told, also with a sample that takes none. */
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import type { Browser, Locator, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { keptIn } from "../archive/support.ts";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { service, tempFolder, type Background } from "../support/program.ts";
import { openPart } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";

const folder = tempFolder();
const sample = "truck-cranks-slowly.ndjson.gz";
/** Of the archive: a job as 0.1.0 wrote it, and a recording of its. */
const own = "2024-03-02-110000-hatch-lean.ndjson";
let running: Background;
let browser: Browser;
let page: Page;

beforeAll(async () => {
  if (chromium === null) return;
  build();
  keptIn(folder.path);
  running = await service(folder.path);
  browser = await sharedBrowser();
  page = await browser.newPage({ viewport: { width: 1500, height: 1000 } });
  page.setDefaultTimeout(30_000);
}, 180_000);

afterAll(async () => {
  if (chromium !== null) {
    await browser.close();
    await running.stop();
  }
  folder.remove();
});

async function open(file: string): Promise<void> {
  await page.goto(running.said[1] ?? "");
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  await page
    .getByRole("button", { name: `open ${file}` })
    .first()
    .click();
  await page.getByRole("toolbar", { name: "job tools" }).waitFor();
  await openPart(page, "Job and note");
}

const sheet = (): Locator => page.getByRole("complementary", { name: "job sheet" });
/** What the interpreter measured the speed against. */
const range = (): Locator => sheet().locator("article").filter({ hasText: "Cranking speed." }).first();
const form = (): Locator => sheet().getByRole("group", { name: "Complaint and vehicle" });
const jobFile = (): string => {
  const jobs = join(folder.path, "jobs");
  const [id = ""] = readdirSync(jobs).filter(
    (name) => !name.startsWith(".") && !name.startsWith("2024-03-02"),
  );
  return readFileSync(join(jobs, id, "job.json"), "utf8");
};

/** Fields of the vehicle's kind: what is chosen, and what is kept of it. */
const kinds: readonly (readonly [string, string, object])[] = [
  ["Air is measured by", "manifold pressure", { metering: "manifold-pressure" }],
  ["Induction", "charged", { induction: "charged" }],
  ["Throttle plate controls the air", "no", { throttled: false }],
  ["Stop-start", "yes", { stopsAtStandstill: true }],
  ["Supply", "24 V", { supplyVolts: 24 }],
  ["Hybrid", "no", { hybrid: false }],
];
const vehicleOfJob = (): Record<string, unknown> =>
  (JSON.parse(jobFile()) as { vehicle: Record<string, unknown> }).vehicle;

test.skipIf(chromium === null)(
  "a read-only sample is read by the open job's facts, the sheet shows them with whose they are, and by its own again without",
  async () => {
    await open(sample);
    await page.getByRole("button", { name: "Close job" }).click();
    await range().filter({ hasText: "150 to 300 rpm" }).waitFor({ state: "attached" });
    await form().getByText("Engine and place").click();
    expect(await form().getByRole("combobox", { name: "Fuel" }).inputValue()).toBe("petrol");
    expect(await form().getByRole("combobox", { name: "Fuel" }).isDisabled()).toBe(true);

    await page.getByRole("button", { name: "Begin a job" }).click();
    await form().getByRole("combobox", { name: "Fuel" }).selectOption("diesel");
    await range().filter({ hasText: "180 to 300 rpm" }).waitFor({ state: "attached" });
    await form()
      .getByText(/^Of the job: .*fuel/)
      .waitFor();
    await expect.poll(() => jobFile()).toContain('"fuel": "diesel"');

    // Wiped out in the job, it does not come back from the recording.
    await form().getByRole("combobox", { name: "Fuel" }).selectOption("");
    await form()
      .getByText(/^Of the job: (?!.*fuel)/)
      .waitFor();
    expect(await form().getByRole("combobox", { name: "Fuel" }).inputValue()).toBe("");
    await range().filter({ hasText: "150 to 300 rpm" }).waitFor({ state: "attached" });

    await form().getByRole("combobox", { name: "Fuel" }).selectOption("diesel");
    await range().filter({ hasText: "180 to 300 rpm" }).waitFor({ state: "attached" });
    // What kind of vehicle it is, field by field: each is kept as the value that the interpreter takes.
    for (const [label, choice, stored] of kinds) {
      await form().getByRole("combobox", { name: label }).selectOption({ label: choice });
      await expect.poll(() => vehicleOfJob()).toMatchObject(stored);
    }
    await form().getByRole("textbox", { name: "Battery fitted" }).fill("2021");
    await expect.poll(() => vehicleOfJob()).toMatchObject({ batteryYear: 2021 });
    await form()
      .getByText(/^Of the job: .*throttle plate controls the air, stop-start, supply, hybrid/)
      .waitFor();
    // What is said goes before what is read, and what speaks against it stands at the field.
    await form().getByText("but the supply reads 12.0 V").waitFor();
    await form().getByText("but the manifold is pulled down at idle").waitFor();
    await form().getByRole("combobox", { name: "Supply" }).selectOption("");
    await expect.poll(() => vehicleOfJob()).not.toHaveProperty("supplyVolts");
    await form().getByText("but the supply reads 12.0 V").waitFor({ state: "detached" });

    await page.locator('.job[data-saved="kept"]').first().waitFor();
    await page.getByRole("button", { name: "Close job" }).click();
    await range().filter({ hasText: "150 to 300 rpm" }).waitFor({ state: "attached" });
    expect(await form().getByRole("combobox", { name: "Fuel" }).inputValue()).toBe("petrol");
  },
  120_000,
);

test.skipIf(chromium === null)(
  "what is typed for a job goes into the job alone: its recording keeps what was known when it was made",
  async () => {
    const path = join(folder.path, own);
    const before = readFileSync(path);
    await open(own);
    await page.getByRole("button", { name: "Jobs", exact: true }).click();
    await page
      .getByRole("dialog")
      .getByRole("button", { name: /Old hatch|old-hatch/ })
      .first()
      .click();
    await page.keyboard.press("Escape");
    const complaint = form().getByRole("textbox", { name: "Complaint" });
    await expect.poll(() => complaint.inputValue()).toBe("Starts and dies; shakes when it runs.");
    await complaint.fill("Told later.");
    await page.locator('.job[data-saved="kept"]').first().waitFor();
    const job = join(folder.path, "jobs/2024-03-02-old-hatch/job.json");
    await expect.poll(() => readFileSync(job, "utf8")).toContain("Told later.");
    expect(readFileSync(path).equals(before)).toBe(true);
  },
  90_000,
);
