/** A failing disk as a person meets it. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, test } from "vitest";
import { diskFaults, diskOnPage, mayHappen } from "../reliability/diskOnPage.ts";
import { build } from "../support/build.ts";
import { sharedBrowser } from "../support/browser.ts";
import { mayMount } from "../support/smallDisk.ts";
import { chromium } from "../support/tools.ts";

const able = chromium !== null && mayMount;
let browser: Browser;

beforeAll(async () => {
  if (!able) return;
  build();
  browser = await sharedBrowser();
}, 180_000);

afterAll(async () => {
  if (able) await browser.close();
});

// Each has a disk, a program and pages of its own, and mostly waits: two go on side by side.
for (const fault of diskFaults) {
  test.skipIf(!able || !mayHappen(fault)).concurrent(
    `a disk that is ${fault}: told on the page, the view goes on, a page that joins sees it, one act saves all of it`,
    async ({ expect }) => {
      const seen = await diskOnPage(browser, fault);
      expect(seen).toMatchObject({ viewWentOn: true, joined: true, state: "whole", oldUnharmed: true });
    },
    120_000,
  );
}
