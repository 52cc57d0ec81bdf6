/** A service with one recording of a van (bench vehicle, invented), and pages that work on its job. */
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Browser, BrowserContext, Page } from "playwright-core";
import { sharedBrowser } from "./browser.ts";
import { build } from "./build.ts";
import { crankside, service, tempFolder, type Background } from "./program.ts";
import { openPart } from "./sheet.ts";
import { checkJob, type JobDocument } from "../../src/sheet/job.ts";

export const vanFile = "2024-03-02-090000-van.ndjson";

/** Heard over TCP; its address is one for documentation (RFC 5737). Some readings, made up. */
export const tcpFile = "2024-03-02-120000-hatch.ndjson";
export const tcpAddress = "192.0.2.7:2000";

function tcpRecording(): string {
  const header = {
    ...{
      format: "crankside-recording",
      version: 1,
      started: "2024-03-02T12:00:00Z",
      from: `tcp:${tcpAddress}`,
    },
    ...{ adapter: null, protocol: null, vehicle: {}, invented: true, writer: "test" },
  };
  const readings = [0, 100, 200].map((t) => ({ t, k: "s", ch: "engine-speed", v: 800, u: "rpm" }));
  return [header, ...readings].map((line) => `${JSON.stringify(line)}\n`).join("");
}

export class JobPages {
  readonly folder: string;
  readonly browser: Browser;
  readonly #folder: ReturnType<typeof tempFolder>;
  readonly #running: Background;
  readonly #opened = new WeakMap<BrowserContext, Page>();

  private constructor(folder: ReturnType<typeof tempFolder>, running: Background, browser: Browser) {
    this.#folder = folder;
    this.folder = folder.path;
    this.#running = running;
    this.browser = browser;
  }

  static async start(): Promise<JobPages> {
    build();
    const folder = tempFolder();
    const made = await crankside([
      ...["bench", "--vehicle", "garden-van", "--fault", "no-crank-signal", "--script", "crank-only"],
      ...["--out", join(folder.path, vanFile)],
    ]);
    if (made.status !== 0) throw new Error(made.stderr);
    writeFileSync(join(folder.path, tcpFile), tcpRecording());
    return new JobPages(folder, await service(folder.path), await sharedBrowser());
  }

  get url(): string {
    return this.#running.said[1] ?? "";
  }

  /** A page that shares its storage with the others of its context: the one that was opened so before, until it is closed. */
  async openRecording(context: BrowserContext, file = vanFile): Promise<Page> {
    const before = this.#opened.get(context);
    const page = before === undefined || before.isClosed() ? await context.newPage() : before;
    this.#opened.set(context, page);
    await page.setViewportSize({ width: 1280, height: 900 });
    await page.goto(this.url);
    await page.getByRole("radio", { name: "A recording", exact: true }).check();
    await page.getByRole("button", { name: `open ${file}` }).click();
    await page.getByRole("toolbar", { name: "job tools" }).waitFor();
    await openPart(page, "Job and note");
    return page;
  }

  jobIds(): string[] {
    return readdirSync(join(this.folder, "jobs")).filter((name) => /^\d{4}-/.test(name));
  }

  job(id = this.jobIds()[0] ?? ""): JobDocument {
    const path = join(this.folder, "jobs", id, "job.json");
    return checkJob(JSON.parse(readFileSync(path, "utf8")), path);
  }

  async stop(): Promise<void> {
    await this.browser.close();
    await this.#running.stop();
    this.#folder.remove();
  }
}

export function kept(page: Page): Promise<void> {
  return page.locator('.job[data-saved="kept"]').first().waitFor();
}
