import { afterAll, beforeAll } from "vitest";
import { Pages } from "./pages.ts";
import { chromium } from "./tools.ts";

/** One service and one browser for all tests of a file, where there is a browser. */
export function withPages(ready: (pages: Pages) => void): void {
  let pages: Pages | null = null;
  beforeAll(async () => {
    if (chromium === null) return;
    pages = await Pages.start();
    ready(pages);
  }, 180_000);
  afterAll(async () => {
    await pages?.stop();
  });
}
