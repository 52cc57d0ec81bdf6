/** Signs on the job sheet, in a real Chromium: newest evidence first, and "show me" brings window, lanes and band. */
import { join } from "node:path";
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { channelInfo } from "../../shared/decode.ts";
import { interpret, VehicleRanges, type Sign } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { readRecording } from "../../src/recorder/read.ts";
import type { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

const file = "van-hisses-at-idle.ndjson.gz";
let pages: Pages;
withPages((started) => {
  pages = started;
});

/** The stretch that the strip tells, in seconds. */
async function stretch(page: Page): Promise<{ from: number; to: number }> {
  const text = await page.getByRole("slider", { name: /place of the view/ }).getAttribute("aria-valuetext");
  const seconds = (clock: string | undefined): number =>
    (clock ?? "").split(":").reduce((sum, part) => sum * 60 + Number(part), 0);
  const [from, to] = (text ?? "").split(/ to | of /);
  return { from: seconds(from), to: seconds(to) };
}

/** For each lane: its names, and how many pixels of its paper have the colour of the band. */
function lanes(page: Page): Promise<{ names: string[]; band: number }[]> {
  return page.evaluate<{ names: string[]; band: number }[]>(`(() => {
    const probe = document.createElement("canvas");
    probe.width = probe.height = 1;
    const ink = probe.getContext("2d");
    ink.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--band").trim();
    ink.fillRect(0, 0, 1, 1);
    const wanted = ink.getImageData(0, 0, 1, 1).data;
    return [...document.querySelectorAll(".lane")].map((lane) => {
      const canvas = lane.querySelector("canvas");
      const data = canvas === null ? [] : canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
      let band = 0;
      for (let i = 0; i < data.length; i += 4)
        if ([0, 1, 2, 3].every((k) => Math.abs(data[i + k] - wanted[k]) <= 2)) band += 1;
      return { names: [...lane.querySelectorAll(".label .name")].map((n) => n.textContent.trim()), band };
    });
  })()`);
}

const newest = (sign: Sign): number => Math.max(-1, ...sign.windows.map((w) => w.to));

test.skipIf(chromium === null)(
  "newest first; show me brings the window, the lanes that the sign is about, and their range bands",
  async () => {
    const reading = new Reading(file);
    await readRecording(join(import.meta.dirname, "../../recordings", file), reading.sink);
    const findings = interpret(reading);
    const told = findings.signs
      .filter((s) => (s.verdict === "outside" || s.verdict === "near") && s.windows.length > 0)
      .sort((a, b) => newest(b) - newest(a));
    expect(told.length).toBeGreaterThanOrEqual(2);
    const ranges = new VehicleRanges(reading.facts.vehicle ?? {});

    const { page, errors } = await pages.open();
    await page.getByRole("radio", { name: "A recording", exact: true }).check();
    await page.getByRole("button", { name: `open ${file}` }).click();
    await page.locator('section.chart[aria-busy="false"] .lane canvas').first().waitFor();
    await page.getByText(/^Within range: /).waitFor();
    const buttons = page.getByRole("button", { name: /^show me .* on the chart$/ });
    await expect
      .poll(async () => Promise.all((await buttons.all()).map((b) => b.getAttribute("aria-label"))))
      .toEqual(told.map((s) => `show me ${s.title} on the chart`));

    let banded = 0;
    for (const [i, sign] of told.entries()) {
      const shown = sign.windows[0];
      if (shown === undefined) continue;
      await buttons.nth(i).click();
      const window = { from: shown.from / 1000, to: shown.to / 1000 };
      // The whole window is in view, and the view is about it: not the whole recording with it somewhere inside.
      await expect
        .poll(async () => (await stretch(page)).from, { message: sign.key })
        .toBeLessThanOrEqual(window.from + 0.5);
      await expect.poll(async () => (await stretch(page)).to).toBeGreaterThanOrEqual(window.to - 0.5);
      const seen = await stretch(page);
      expect(seen.to - seen.from, sign.key).toBeLessThanOrEqual(Math.max(60, 4 * (window.to - window.from)));

      const asked = sign.channels.filter((c) => reading.channels.of(c).length > 0);
      const shorts = asked.map((c) => channelInfo(c)?.short ?? c);
      await expect
        .poll(
          async () => {
            const names = (await lanes(page)).flatMap((lane) => lane.names.map((n) => n.split(" · ")[0]));
            return shorts.filter((s) => !names.includes(s));
          },
          { message: sign.key },
        )
        .toEqual([]);

      // A lane whose channel has a plausible range in that window shows it as a band.
      const spans = findings.regimes.filter((r) => r.from < shown.to && r.to > shown.from);
      const withRange = asked
        .filter((c) => spans.some((r) => ranges.channel(c, r.regime) !== null))
        .map((c) => channelInfo(c)?.short ?? c);
      if (withRange.length === 0) continue;
      banded += 1;
      await expect
        .poll(
          async () => {
            const all = await lanes(page);
            return withRange.filter(
              (s) => !all.some((lane) => lane.band > 200 && lane.names.some((n) => n.split(" · ")[0] === s)),
            );
          },
          { message: `bands of ${sign.key}` },
        )
        .toEqual([]);
    }
    expect(banded).toBeGreaterThan(0);
    expect(errors).toEqual([]);
  },
  120_000,
);
