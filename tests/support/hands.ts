/** Hands at the bench vehicle's engine, for visits that count what a person does on the page. */
import type { Page } from "playwright-core";
import { expect } from "vitest";
import { shown } from "./pages.ts";

const strip = (page: Page): ReturnType<Page["getByRole"]> =>
  page.getByRole("region", { name: "bench vehicle" });

/** A fault put in or taken out, in percent of the worst. */
export async function faultAt(page: Page, name: string, percent: number): Promise<void> {
  await strip(page)
    .getByText(/^faults/)
    .click();
  const slider = strip(page).getByRole("slider", { name: new RegExp(`^${name}`) });
  await slider.fill(String(percent));
  await expect.poll(() => slider.inputValue()).toBe(String(percent));
  await strip(page)
    .getByText(/^faults/)
    .click();
}

export async function turnKey(page: Page, to: "Off" | "On"): Promise<void> {
  await strip(page).getByRole("button", { name: to, exact: true }).click();
}

/** Held until it has turned for long enough to fire, which it does not. */
export async function cranksInVain(page: Page): Promise<void> {
  const meter = page.getByRole("meter", { name: "time on the starter" });
  const used = async (): Promise<number> =>
    (await meter.count()) === 0 ? 0 : Number(await meter.getAttribute("value", { timeout: 1000 }));
  await page.keyboard.down("c");
  await expect.poll(() => shown(page, "speed")).toBeGreaterThan(100);
  const before = await used();
  await expect.poll(used).toBeGreaterThan(before + 3);
  await page.keyboard.up("c");
}

export async function starts(page: Page): Promise<void> {
  await page.keyboard.down("c");
  await expect.poll(() => shown(page, "speed")).toBeGreaterThan(500);
  await page.keyboard.up("c");
}
