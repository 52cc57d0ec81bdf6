import { chromium as playwright, type Browser } from "playwright-core";
import { chromium } from "./tools.ts";

export const quietFlags = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

/** The Chromium of this machine; only to be called where `chromium` is not null. */
export function launchBrowser(): Promise<Browser> {
  return playwright.launch({ ...(chromium === null ? {} : { executablePath: chromium }), args: quietFlags });
}
