/** A failing disk as a person meets it. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { diskFaults, diskOnPage } from "../reliability/diskOnPage.ts";
import { build } from "../support/build.ts";
import { launchBrowser } from "../support/browser.ts";
import { mayMount } from "../support/smallDisk.ts";
import { chromium } from "../support/tools.ts";

const able = chromium !== null && mayMount;
let browser: Browser;

beforeAll(async () => {
  if (!able) return;
  build();
  browser = await launchBrowser();
}, 180_000);

afterAll(async () => {
  if (able) await browser.close();
});

test.skipIf(!able).each(diskFaults.map((fault) => [fault] as const))(
  "a disk that is %s: told on the page, the view goes on, a page that joins sees it, one act saves all of it",
  async (fault) => {
    const seen = await diskOnPage(browser, fault);
    expect(seen).toMatchObject({ viewWentOn: true, joined: true, state: "whole" });
  },
  90_000,
);
