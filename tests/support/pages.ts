/** The built page in a real browser, with a service of its own behind it. */
import type { Browser, BrowserContextOptions, Page } from "playwright-core";
import { sharedBrowser } from "./browser.ts";
import { build } from "./build.ts";
import { complaintsOf, KeptPage, type OpenPage } from "./keptPage.ts";
import { service, tempFolder, type Background } from "./program.ts";

export type { OpenPage } from "./keptPage.ts";

const usual = { width: 1280, height: 720 };

export class Pages {
  readonly folder: string;
  readonly #folder: ReturnType<typeof tempFolder>;
  readonly #running: Background;
  readonly #browser: Browser;
  #kept: KeptPage | null = null;

  private constructor(folder: ReturnType<typeof tempFolder>, running: Background, browser: Browser) {
    this.#folder = folder;
    this.folder = folder.path;
    this.#running = running;
    this.#browser = browser;
  }

  static async start(): Promise<Pages> {
    build();
    const folder = tempFolder();
    return new Pages(folder, await service(folder.path), await sharedBrowser());
  }

  get url(): string {
    return this.#running.said[1] ?? "";
  }

  /**
   * The page as a person finds it who was never here. The window is the same one each time, as another costs more than
   * most of what is done in it: whoever asked before is done with it. `how`: a window of its own, which the test closes.
   */
  async open(size = usual, how?: BrowserContextOptions): Promise<OpenPage> {
    if (how === undefined) {
      if (this.#kept === null || this.#kept.page.isClosed()) this.#kept = await KeptPage.make(this.#browser);
      return this.#kept.open(this.url, size);
    }
    const page = await this.#browser.newPage({ ...how, viewport: size });
    const errors = complaintsOf(page);
    await page.goto(this.url);
    return { page, errors };
  }

  async stop(): Promise<void> {
    await this.#browser.close();
    await this.#running.stop();
    this.#folder.remove();
  }
}

/** The number that a lane shows now. */
export async function shown(page: Page, lane: string): Promise<number> {
  const text = await page.locator(".lane", { hasText: lane }).first().locator(".label").innerText();
  return Number(/(-?\d+(?:\.\d+)?) (?:rpm|V)/.exec(text)?.[1]);
}

export async function connectToBench(page: Page): Promise<void> {
  await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
  await page.getByRole("button", { name: "Connect and record" }).click();
  await page.getByRole("button", { name: /Stop recording/ }).waitFor();
}

/** A recording that ships or lies in the folder, from the hookup to the paper with what was found in it. */
export async function openRecording(page: Page, file: string, timeout = 30_000): Promise<void> {
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  await page.getByRole("button", { name: `open ${file}` }).click();
  await page.locator('section.chart[aria-busy="false"] .lane canvas').first().waitFor({ timeout });
  await page.getByText(/^Within range: /).waitFor({ timeout });
}
