/**
 * An adapter that only the browser reaches, from choosing it to values on the paper. The devices are scripted:
 * `navigator.bluetooth` and `navigator.serial` that carry bytes to the bench adapter here, in packets of 20 bytes that
 * take 30 to 60 ms. No real device was tried.
 */
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import { Carriers, pacedClock, realClock } from "../../adapters/link/index.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { contractOf, type Line } from "../link/contract.ts";
import { sharedBrowser } from "../support/browser.ts";
import { build } from "../support/build.ts";
import { complaintsOf } from "../support/keptPage.ts";
import { shown } from "../support/pages.ts";
import { tempFolder } from "../support/program.ts";
import { scriptRadio } from "../support/scriptedRadio.ts";
import { chromium } from "../support/tools.ts";

let browser: Browser;
let server: RunningServer;
let folder: ReturnType<typeof tempFolder>;
let carriers: Carriers;
const missing = chromium === null;

beforeAll(async () => {
  if (missing) return;
  build();
  browser = await sharedBrowser();
  folder = tempFolder();
  carriers = new Carriers();
  server = await startServer({
    port: 0,
    pageFolder: join(import.meta.dirname, "../../dist/page"),
    folders: { own: folder.path, bundled: null },
    clock: realClock,
    writer: "test",
    carriers,
  });
}, 120_000);

afterAll(async () => {
  if (missing) return;
  await server.close();
  await browser.close();
  folder.remove();
});

/** What a person does to choose an adapter; the scripted browser asks nothing. */
async function choose(page: Page, button: "Bluetooth" | "serial"): Promise<void> {
  await page.getByRole("radio", { name: "Through this browser" }).check();
  await page.getByRole("button", { name: `Choose a ${button} adapter` }).click();
  await page.getByText("chosen, not in use").waitFor();
}

/** A page with a bench adapter at the other end of its scripted devices. */
async function withAdapter(delayMs: readonly [number, number]) {
  const clock = pacedClock(realClock);
  const bench = new Bench({ vehicle: "garden-van", faults: [], clock, seed: 1 });
  bench.act({ act: "key", to: "on" });
  const page = await browser.newPage();
  const errors = complaintsOf(page);
  const openings: ByteEnd[] = [];
  await scriptRadio(page, delayMs, (far) => {
    openings.push(far);
    attachAdapter(bench, far, clock);
  });
  await page.goto(server.url);
  const close = async (): Promise<void> => {
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    await page.close();
    bench.stop();
  };
  return { page, errors, openings, close };
}

const volts = (page: Page) => expect.poll(() => shown(page, "volts (socket)"), { timeout: 30_000 });

test.skipIf(missing)(
  "an adapter on a slow radio is chosen in the browser, and its values are on the paper",
  async () => {
    const { page, errors, close } = await withAdapter([30, 60]);
    await choose(page, "Bluetooth");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await volts(page).toBeGreaterThan(11);
    await close();
    expect(errors).toEqual([]);
  },
  90_000,
);

test.skipIf(missing)(
  "a radio link that is lost is told, and comes back by itself",
  async () => {
    const { page, openings, close } = await withAdapter([0, 0]);
    await choose(page, "Bluetooth");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await volts(page).toBeGreaterThan(11);
    await openings.at(-1)?.close();
    await page.getByText(/lost/i).first().waitFor();
    await expect.poll(() => openings.length, { timeout: 30_000 }).toBeGreaterThan(1);
    await volts(page).toBeGreaterThan(11);
    await close();
  },
  90_000,
);

test.skipIf(missing)(
  "a serial adapter of the browser goes on after the page was loaded anew",
  async () => {
    const { page, openings, close } = await withAdapter([0, 0]);
    await choose(page, "serial");
    await page.getByRole("button", { name: "Connect and record" }).click();
    await volts(page).toBeGreaterThan(11);
    const before = openings.length;
    await page.reload();
    await expect.poll(() => openings.length, { timeout: 30_000 }).toBeGreaterThan(before);
    await volts(page).toBeGreaterThan(11);
    await close();
  },
  90_000,
);

test.skipIf(missing)("a browser that reaches no devices is told what to do", async () => {
  const page = await browser.newPage();
  await page.addInitScript(() => {
    const { navigator } = globalThis as unknown as { navigator: object };
    for (const name of ["bluetooth", "serial"]) Object.defineProperty(navigator, name, { value: undefined });
  });
  await page.goto(server.url);
  await page.getByRole("radio", { name: "Through this browser" }).check();
  await page.getByText(/does not let a page reach Bluetooth or serial ports/).waitFor();
  await page.getByRole("button", { name: "Connect and record" }).click();
  await page.getByText(/no adapter is chosen/).waitFor();
  await page.close();
});

describe.skipIf(missing)("in Chromium", () => {
  let page: Page | null = null;
  let device: { readonly far: ByteEnd | null };
  const open = async (): Promise<Line> => {
    if (page === null) {
      page = await browser.newPage();
      device = await scriptRadio(page, [0, 0]);
      await page.goto(server.url);
      await choose(page, "Bluetooth");
    }
    // The page shows that it is chosen a moment before the server knows.
    const ends: ByteEnd[] = [];
    const carried = async (): Promise<number> => {
      if (ends.length === 0)
        await carriers.open("ble", 38_400).then(
          (end) => ends.push(end),
          () => 0,
        );
      return ends.length;
    };
    await expect.poll(carried).toBe(1);
    const [near] = ends;
    if (near === undefined) throw new Error("the page does not carry");
    const { far } = device;
    if (far === null) throw new Error("the device was not opened");
    return { near, far, lose: () => far.close(), cleanUp: () => Promise.resolve() };
  };
  contractOf({ name: "carried by the page", missing: null, echo: false, keepsLastBytes: true, open });
  afterAll(() => page?.close());
});
