import { chromium as playwright, type Browser } from "playwright-core";
import { chromium } from "./tools.ts";

/**
 * What Playwright turns off by itself (the last such flag wins), and the popups of an address bar that nobody sees: each
 * window made two more pages for them, which took half of what opening it costs.
 */
const withoutFeatures = [
  "AvoidUnnecessaryBeforeUnloadCheckSync,DestroyProfileOnBrowserClose,HttpsUpgrades,HttpsFirstBalancedModeAutoEnable",
  "LensOverlay,MediaRouter,PaintHolding,ThirdPartyStoragePartitioning,AvoidCorsURLLoaderRestartOnRedirect",
  "OptimizationHints,NetworkTimeServiceQuerying,AimEnabled,PreconnectToSearch",
  "WebUIOmniboxPopup,WebUIOmniboxAimPopup,WebUIOmniboxFullPopup",
].join(",");

export const quietFlags = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  `--disable-features=${withoutFeatures}`,
];

/** The Chromium of this machine; only to be called where `chromium` is not null. */
export function launchBrowser(): Promise<Browser> {
  return playwright.launch({ ...(chromium === null ? {} : { executablePath: chromium }), args: quietFlags });
}

let running: Promise<Browser> | null = null;

/**
 * The same for all files that a process tests, as beginning one costs as much as many a test: to close it closes its
 * windows, and it ends with the process. A program that is no test has one of its own, which would keep it from ending.
 */
export function sharedBrowser(): Promise<Browser> {
  if (process.env["VITEST"] === undefined) return launchBrowser();
  running ??= launchBrowser().then((browser) => {
    browser.close = async () => {
      await Promise.all(browser.contexts().map((context) => context.close()));
    };
    return browser;
  });
  return running;
}
