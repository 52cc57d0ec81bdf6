import { chromium, dataSet, firefox, poppler, secondCar, socat } from "./tools.ts";

/** Says once, in one visible line each, what cannot be tested here; under CI that is a failure. */
export function setup(): void {
  const missing = [
    chromium === null ? "Chromium is missing: the browser tests are skipped" : "",
    firefox === null ? "firefox-esr is missing: the visit in Firefox is skipped" : "",
    poppler ? "" : "pdftotext or pdftoppm is missing: printed notes are not looked at",
    socat === null ? "socat is missing: the tests over a real serial line are skipped" : "",
  ].filter((line) => line !== "");
  for (const line of missing) console.warn(`SKIPPED: ${line}.`);
  if (dataSet === null || secondCar === null)
    console.warn("SKIPPED: open data sets are not beside this checkout: their tests are skipped.");
  if (missing.length > 0 && process.env["CI"] === "true") {
    throw new Error(`CI needs what is missing here: ${missing.join("; ")}`);
  }
}
