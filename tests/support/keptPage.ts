/** One window of the browser, in which one test after another finds the page as if nobody had been there. */
import type { Browser, Page } from "playwright-core";

/** Of the window's inside, pixels. */
export interface Size {
  readonly width: number;
  readonly height: number;
}

export interface OpenPage {
  readonly page: Page;
  /** What the page's console complained of. */
  readonly errors: string[];
}

/** What the page's console complains of from now on. */
export function complaintsOf(page: Page): string[] {
  const errors: string[] = [];
  hear(page, (text) => errors.push(text));
  return errors;
}

function hear(page: Page, tell: (text: string) => void): void {
  page.on("console", (message) => {
    if (message.type() === "error") tell(message.text());
  });
  page.on("pageerror", (error) => tell(error.message));
}

export class KeptPage {
  readonly page: Page;
  #errors: string[] = [];

  private constructor(page: Page) {
    this.page = page;
    hear(page, (text) => this.#errors.push(text));
  }

  static async make(browser: Browser): Promise<KeptPage> {
    const page = await browser.newPage();
    // Half a minute, the library's own, is near what a busy machine needs.
    page.setDefaultTimeout(100_000);
    return new KeptPage(page);
  }

  /** Opens the page: nothing is stored of it, and the pointer is out of the way. */
  async open(url: string, size: Size): Promise<OpenPage> {
    const opened = await this.forget(url, size);
    await opened.page.goto(url);
    return opened;
  }

  /** The same for who goes there by itself. */
  async forget(url: string, size: Size): Promise<OpenPage> {
    const { page } = this;
    // What a page keeps as it is left is kept before it is forgotten.
    await page.goto("about:blank");
    await page.mouse.move(0, 0);
    const session = await page.context().newCDPSession(page);
    const { origin } = new URL(url);
    await session.send("Storage.clearDataForOrigin", { origin, storageTypes: "all" });
    await session.detach();
    await page.setViewportSize(size);
    const errors: string[] = [];
    this.#errors = errors;
    return { page, errors };
  }
}
