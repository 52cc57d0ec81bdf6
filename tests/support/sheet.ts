/** Hands for the sheet: its parts are tabs, and the page turns from the chart to the sheet by a key. */
import type { Locator, Page } from "playwright-core";

export type Part = "Evidence" | "Hand checks" | "Modules" | "Marks" | "Before/after" | "Job and note";

/** Goes to a part of the sheet, as a person does who looks for it. */
export async function openPart(page: Page, part: Part): Promise<void> {
  await page.getByRole("tab", { name: new RegExp(`^${part}`) }).click();
}

/** The chart gets the whole width. */
export async function chartWide(page: Page): Promise<void> {
  // By its key: the keyboard stays where it was.
  await page.keyboard.press("w");
  await page.getByRole("button", { name: /^Show the sheet/ }).waitFor();
  // The plots follow their new width a frame later.
  await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
}

/** The sheet stands beside the chart again. */
export async function sheetToo(page: Page): Promise<void> {
  await page.keyboard.press("w");
  await page.getByRole("button", { name: /^Chart wide/ }).waitFor();
  await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
}

/** What the engine does is chosen behind the line that tells it. */
export async function complain(causes: Locator, complaint: string): Promise<void> {
  const box = causes.getByRole("checkbox", { name: complaint });
  if (!(await box.isVisible())) await causes.getByText(/^Complaint:/).click();
  await box.check();
}

/** A hand check is found by typing. */
export async function findCheck(causes: Locator, name: string): Promise<void> {
  await causes.getByRole("combobox", { name: "another check was done" }).fill(name);
  await causes.getByRole("option", { name, exact: true }).click();
}
