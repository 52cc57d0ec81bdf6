/** A battery that reading drains, as the person is told of it: key on, engine still, less than 12.0 V at the socket. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { chromium } from "../support/tools.ts";
import { virtualService } from "../support/virtualService.ts";

let browser: Browser;
const pageFolder = join(import.meta.dirname, "../../dist/page");

beforeAll(async () => {
  if (chromium === null) return;
  build();
  browser = await sharedBrowser();
}, 180_000);

afterAll(async () => {
  if (chromium !== null) await browser.close();
});

test.skipIf(chromium === null)(
  "below 12.0 V at rest the page warns, and the vehicle is asked far less often, until it is charged",
  async () => {
    const { folder, clock, server, ask: answerTo, close } = await virtualService(pageFolder);
    const ask = async (request: Parameters<typeof answerTo>[0]): Promise<void> => {
      expect(await answerTo(request)).toMatchObject({ type: "done" });
    };
    const asked = (what: string): number => {
      const [file = ""] = readdirSync(folder).filter((name) => name.endsWith(".ndjson"));
      return readFileSync(join(folder, file), "utf8").split(`"ask":"${what}`).length - 1;
    };
    await ask({ type: "connect", address: "bench:garden-van", facts: {} });
    await ask({ type: "bench", act: { act: "fault", name: "weak-battery", severity: 1 } });
    await ask({ type: "bench", act: { act: "key", to: "on" } });
    const page = await browser.newPage();
    page.setDefaultTimeout(60_000);
    await page.goto(server.url);
    const warning = page.getByRole("alert").filter({ hasText: /The battery is at 11\.\d V/ });
    await clock.pass(20_000);
    expect(asked("01")).toBeGreaterThan(60);
    expect(await warning.count()).toBe(0);
    await clock.pass(50_000);
    await warning.waitFor();
    await page.getByText("The vehicle is asked less often").waitFor();
    const before = { vehicle: asked("01"), volts: asked("ATRV") };
    await clock.pass(20_000);
    // The voltage goes on four times a second, the vehicle is asked every two seconds.
    expect(asked("01") - before.vehicle).toBeLessThan(15);
    expect(asked("ATRV") - before.volts).toBeGreaterThan(60);
    await ask({ type: "bench", act: { act: "booster", on: true } });
    await clock.pass(5000);
    await warning.waitFor({ state: "detached" });
    await page.close();
    await close();
  },
  120_000,
);
