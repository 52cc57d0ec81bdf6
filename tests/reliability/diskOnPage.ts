/** A disk that fails under a recording, seen on the page in Chromium: how soon it is told, and that one act saves it. */
import { readdirSync, rmSync } from "node:fs";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { connectToBench } from "../support/pages.ts";
import { background, tempFolder } from "../support/program.ts";
import { SmallDisk } from "../support/smallDisk.ts";

export const diskFaults = ["full", "taken away", "folder removed"] as const;
export type DiskFault = (typeof diskFaults)[number];

export interface DiskOnPage {
  /** From the fault until the page says it, milliseconds. */
  readonly toldMs: number;
  /** The page went on showing new readings meanwhile. */
  readonly viewWentOn: boolean;
  /** A page that was opened only then shows the recording too. */
  readonly joined: boolean;
  /** Of the recording in the other folder. */
  readonly state: string;
}

export async function diskOnPage(browser: Browser, fault: DiskFault): Promise<DiskOnPage> {
  const disk = SmallDisk.make();
  if (disk === null) throw new Error("this machine lets nobody mount");
  const spare = tempFolder();
  const own = join(disk.path, "recordings");
  const elsewhere = join(spare.path, "elsewhere");
  const service = await background(
    ["serve", "--no-open", "--port", "0", "--folder", own, "--spare", elsewhere],
    /Crankside is at (http:\S+)/,
  );
  const page = await browser.newPage();
  page.setDefaultTimeout(15_000);
  try {
    await page.goto(service.said[1] ?? "");
    await connectToBench(page);
    await page
      .getByText(/\d+ kB saved/)
      .first()
      .waitFor();
    const from = performance.now();
    if (fault === "full") disk.fill();
    else if (fault === "taken away") disk.takeAway();
    else rmSync(own, { recursive: true });
    await page.getByText("The recording is not reaching the disk").waitFor();
    const toldMs = performance.now() - from;
    const viewWentOn = await goesOn(page);
    const late = await browser.newPage();
    await late.goto(service.said[1] ?? "");
    await late.getByText("The recording is not reaching the disk").waitFor();
    await late.locator(".lane .label").first().waitFor();
    const joined = await goesOn(late);
    await late.close();
    await page.getByRole("button", { name: /^Go on in / }).click();
    await page.getByText("The recording is not reaching the disk").waitFor({ state: "detached" });
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    const [file = ""] = readdirSync(elsewhere).filter((name) => name.endsWith(".ndjson"));
    const { state } = await verifyRecording(join(elsewhere, file));
    return { toldMs, viewWentOn, joined, state };
  } finally {
    await page.close();
    await service.stop();
    disk.remove();
    spare.remove();
  }
}

/** The time on the state line moves on by two seconds. */
async function goesOn(page: Page): Promise<boolean> {
  const shown = async (): Promise<string> =>
    (await page.locator(".now").first().innerText()).replace(/.*?(\d+:\d\d).*/s, "$1");
  const before = await shown();
  for (let i = 0; i < 60; i++) {
    if ((await shown()) > before) return true;
    await page.waitForTimeout(100);
  }
  return false;
}
