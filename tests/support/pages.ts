/** The built page in a real browser, with a service of its own behind it. */
import type { Browser, BrowserContextOptions, Page } from "playwright-core";
import { launchBrowser } from "./browser.ts";
import { build } from "./build.ts";
import { service, tempFolder, type Background } from "./program.ts";

export interface OpenPage {
  readonly page: Page;
  /** What the page's console complained of. */
  readonly errors: string[];
}

export class Pages {
  readonly folder: string;
  readonly #folder: ReturnType<typeof tempFolder>;
  readonly #running: Background;
  readonly #browser: Browser;

  private constructor(folder: ReturnType<typeof tempFolder>, running: Background, browser: Browser) {
    this.#folder = folder;
    this.folder = folder.path;
    this.#running = running;
    this.#browser = browser;
  }

  static async start(): Promise<Pages> {
    build();
    const folder = tempFolder();
    return new Pages(folder, await service(folder.path), await launchBrowser());
  }

  get url(): string {
    return this.#running.said[1] ?? "";
  }

  async open(size = { width: 1280, height: 720 }, how: BrowserContextOptions = {}): Promise<OpenPage> {
    const page = await this.#browser.newPage({ ...how, viewport: size });
    const errors: string[] = [];
    page.on("console", (message) => {
      if (message.type() === "error") errors.push(message.text());
    });
    page.on("pageerror", (error) => errors.push(error.message));
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
