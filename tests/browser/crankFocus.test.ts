/**
 * The person at the key, away from the laptop, in a real Chromium: armed once, cranked by the held key, the outcome read
 * afterwards; and what is heard meanwhile.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Locator, Page } from "playwright-core";
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { socketVoltage } from "../../shared/decode.ts";
import { supplyLimits } from "../../shared/supply.ts";
import { cueLimits } from "../../src/page/lib/app/cues.ts";
import { Reading } from "../../src/reading/index.ts";
import { connectToBench, type Pages, shown, type OpenPage } from "../support/pages.ts";
import { openPart } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

/** Before the page's own code: notes each tone that is scheduled, and sounds it; notes what a person touches. */
const watch = `
  window.tones = [];
  window.touched = [];
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (when) {
    window.audio = this.context;
    window.tones.push({ hz: this.frequency.value, when, now: this.context.currentTime, wall: Date.now() });
    return start.call(this, when);
  };
  for (const kind of ["pointerdown", "click", "wheel", "touchstart", "keydown", "keyup", "input"])
    addEventListener(kind, (e) => e.repeat || window.touched.push(kind + (e.key ? " " + e.key : "")), true);
`;

/** Seconds of the audio's own time: for which it is scheduled, and when that was done; wall time in milliseconds. */
const toneList = z.array(z.object({ hz: z.number(), when: z.number(), now: z.number(), wall: z.number() }));
type Tone = z.infer<typeof toneList>[number];

const heard = async (page: Page): Promise<Tone[]> => toneList.parse(await page.evaluate("window.tones"));
const strip = (page: Page): Locator => page.getByRole("region", { name: "what is looked at most closely" });
const outcomes = (page: Page): Locator =>
  page.getByRole("group", { name: "cranks", exact: true }).locator("tbody tr");
const patient = { timeout: 30_000 };

let watches = false;
async function watched(): Promise<OpenPage> {
  const opened = await pages.open();
  // Once for the window: two would note each tone twice.
  if (!watches) await opened.page.addInitScript({ content: watch });
  watches = true;
  await opened.page.reload();
  return opened;
}

async function atRest(page: Page): Promise<void> {
  await expect.poll(() => shown(page, "volts (socket)"), patient).toBeGreaterThan(11);
  await expect.poll(() => shown(page, "speed"), patient).toBe(0);
}

async function arm(page: Page): Promise<void> {
  await strip(page).getByRole("button", { name: "Arm for cranking" }).click();
  await strip(page).getByText("cranking", { exact: true }).waitFor();
}

/** The capture of relative compression: steps first, then what to do stands in the strip until it is ended. */
async function strengthBegunAndEnded(page: Page): Promise<void> {
  await openPart(page, "Evidence");
  await page.getByRole("button", { name: "Relative compression…" }).click();
  const dialog = page.getByRole("dialog", { name: "relative compression" });
  await dialog.getByText(/Disable fuel as the vehicle's manual says/).waitFor();
  await dialog.getByText(/harms the catalyst/).waitFor();
  await dialog.getByRole("button", { name: "Begin" }).click();
  await strip(page)
    .getByText(/^Relative compression: fuel disabled as the manual says/)
    .waitFor();
  await strip(page).getByRole("button", { name: "End the capture of relative compression" }).click();
  await strip(page)
    .getByText(/^Relative compression:/)
    .waitFor({ state: "detached" });
}

/** Hz and milliseconds behind the first. */
const shape = (tones: readonly Tone[]): [number, number][] =>
  tones.map(({ hz, when }) => [hz, Math.round((when - (tones[0]?.when ?? 0)) * 1000)]);

interface Kept {
  /** Wall time of its zero, milliseconds. */
  readonly zero: number;
  readonly reading: Reading;
}

/** Stops, leaves the vehicle, and reads what was recorded last. */
async function recorded(page: Page): Promise<Kept> {
  await page.getByRole("button", { name: /Stop recording/ }).click();
  await page.getByRole("button", { name: /Stop recording/ }).waitFor({ state: "detached" });
  await page.getByRole("button", { name: "Disconnect", exact: true }).click();
  const files = readdirSync(pages.folder).filter((name) => name.endsWith(".ndjson"));
  const file = files.sort().at(-1) ?? "";
  const reading = new Reading(file);
  reading.push(readFileSync(join(pages.folder, file), "utf8"));
  reading.finish();
  return { zero: Date.parse(reading.header?.started ?? ""), reading };
}

function firstTime({ reading }: Kept, channel: string, fits: (value: number) => boolean): number {
  const series = reading.channels.find(channel);
  const at = series?.values.findIndex(fits) ?? -1;
  if (series === undefined || at < 0) throw new Error(`no such reading of ${channel}`);
  return series.times[at] ?? Number.NaN;
}

test.skipIf(chromium === null)(
  "armed, cranked by the held key alone, and the outcome stands there; no sound unless it was asked for",
  async () => {
    const { page, errors } = await watched();
    await connectToBench(page);
    await atRest(page);
    expect(await strip(page).getByRole("checkbox").isChecked()).toBe(false);
    await strengthBegunAndEnded(page);
    await arm(page);
    await page.evaluate("window.touched.length = 0");

    await page.keyboard.down("c");
    await expect.poll(() => shown(page, "speed"), patient).toBeGreaterThan(600);
    await page.keyboard.up("c");
    await expect
      .poll(() => outcomes(page).allInnerTexts(), patient)
      .toEqual([expect.stringMatching(/started/)]);
    await strip(page).getByText("engine running").waitFor();
    expect(await page.evaluate("window.touched")).toEqual(["keydown c", "keyup c"]);
    expect(await heard(page)).toEqual([]);
    await recorded(page);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "sounds: two rising tones when the engine is seen to turn, and not before",
  async () => {
    const { page, errors } = await watched();
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.getByRole("combobox", { name: "With a fault" }).selectOption("ignition-dead");
    await connectToBench(page);
    await atRest(page);
    await strip(page).getByRole("checkbox").check();
    await arm(page);
    expect(await heard(page)).toEqual([]);

    await page.keyboard.down("c");
    await expect.poll(async () => (await heard(page)).length, patient).toBe(2);
    // Long enough to be a crank that could have fired.
    await page.getByText(/^[3-9]\.\d of 15 s/).waitFor();
    await page.keyboard.up("c");
    await expect
      .poll(() => outcomes(page).allInnerTexts(), patient)
      .toEqual([expect.stringMatching(/turned, did not fire/)]);
    const tones = await heard(page);
    expect(shape(tones.slice(0, 2))).toEqual([
      [660, 0],
      [990, 160],
    ]);
    // Let go without having fired: that is heard too.
    expect(shape(tones.slice(2))).toEqual([
      [262, 0],
      [262, 500],
    ]);
    expect(tones[0]?.when).toBeLessThanOrEqual(tones[0]?.now ?? -1);
    await expect.poll(() => page.evaluate("window.audio.state"), patient).toBe("running");
    const kept = await recorded(page);
    const seen = kept.zero + firstTime(kept, "engine-speed", (rpm) => rpm > 0);
    expect(tones[0]?.wall).toBeGreaterThanOrEqual(Math.floor(seen));
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "sounds: three low tones when the voltage sags and no speed comes",
  async () => {
    const { page, errors } = await watched();
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.getByRole("combobox", { name: "With a fault" }).selectOption("no-crank-signal");
    await connectToBench(page);
    await atRest(page);
    await strip(page).getByRole("checkbox").check();
    await arm(page);

    await page.keyboard.down("c");
    await expect.poll(async () => (await heard(page)).length, patient).toBe(3);
    await strip(page).getByText("Starter draws current, no RPM signal.").waitFor();
    await page.getByRole("region", { name: "crank" }).getByText("Starter draws, no RPM signal").waitFor();
    await page.keyboard.up("c");
    await expect.poll(async () => (await heard(page)).length, patient).toBe(5);
    const tones = (await heard(page)).slice(0, 3);
    expect(shape(tones)).toEqual([
      [220, 0],
      [220, 220],
      [220, 440],
    ]);
    await expect
      .poll(() => outcomes(page).allInnerTexts(), patient)
      .toEqual([expect.stringMatching(/no speed seen/)]);
    const kept = await recorded(page);
    const rest = kept.reading.channels.find(socketVoltage)?.values[0] ?? Number.NaN;
    const sag = kept.zero + firstTime(kept, socketVoltage, (volts) => volts <= rest - supplyLimits.sag);
    expect(tones[0]?.wall).toBeGreaterThanOrEqual(Math.floor(sag + cueLimits.silentMs));
    expect(errors).toEqual([]);
  },
  120_000,
);
