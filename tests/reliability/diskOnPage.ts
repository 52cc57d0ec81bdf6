/** A disk that fails under a recording, seen on the page in Chromium: how soon it is told, and that one act saves it. */
import { existsSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { connectToBench } from "../support/pages.ts";
import { background, tempFolder } from "../support/program.ts";
import { mayMount, mayMountReal, SmallDisk } from "../support/smallDisk.ts";

/** What happens to the disk; `real` where a file system in memory cannot suffer it. */
const faults = {
  full: { real: false, happen: (disk) => disk.fill() },
  "read-only": { real: true, happen: (disk) => disk.makeReadOnly() },
  "taken away": { real: false, happen: (disk) => disk.takeAway() },
  unmounted: { real: false, happen: (disk) => disk.unmount() },
  "folder removed": { real: false, happen: (_disk, own) => rmSync(own, { recursive: true }) },
} as const satisfies Readonly<
  Record<string, { readonly real: boolean; happen(disk: SmallDisk, own: string): void }>
>;

/** Drawing without a graphics card costs by the pixel, and is not what this is about. */
const small = { width: 1280, height: 400 };

export type DiskFault = keyof typeof faults;
export const diskFaults = Object.keys(faults) as DiskFault[];

/** Whether this machine lets us bring it about. */
export function mayHappen(fault: DiskFault): boolean {
  return faults[fault].real ? mayMountReal : mayMount;
}

export interface DiskOnPage {
  /** From the fault until the page says it, milliseconds. */
  readonly toldMs: number;
  /** The page went on showing new readings meanwhile. */
  readonly viewWentOn: boolean;
  /** A page that was opened only then shows the recording too. */
  readonly joined: boolean;
  /** Of the recording in the other folder. */
  readonly state: string;
  /** What the old file held when the fault was told is as it was; true too where it cannot be reached any more. */
  readonly oldUnharmed: boolean;
}

export async function diskOnPage(browser: Browser, fault: DiskFault): Promise<DiskOnPage> {
  const { real, happen } = faults[fault];
  const disk = real ? SmallDisk.makeReal() : SmallDisk.make();
  if (disk === null) throw new Error("this machine lets nobody mount");
  const spare = tempFolder();
  const own = join(disk.path, "recordings");
  const elsewhere = join(spare.path, "elsewhere");
  const service = await background(
    ["serve", "--no-open", "--port", "0", "--folder", own, "--spare", elsewhere],
    /Crankside is at (http:\S+)/,
  );
  const page = await browser.newPage({ viewport: small });
  page.setDefaultTimeout(30_000);
  try {
    await page.goto(service.said[1] ?? "");
    await connectToBench(page);
    await page
      .getByText(/\d+ kB saved/)
      .first()
      .waitFor();
    const told = timeOfWords(page, "The recording is not reaching the disk");
    const from = Date.now();
    happen(disk, own);
    const toldMs = (await told) - from;
    const old = bytesIn(own);
    const viewWentOn = await goesOn(page);
    const late = await browser.newPage({ viewport: small });
    await late.goto(service.said[1] ?? "");
    await late.getByText("The recording is not reaching the disk").waitFor();
    await late.locator(".lane .label").first().waitFor();
    const joined = await goesOn(late);
    await late.close();
    await page.getByRole("button", { name: /^Continue in / }).click();
    await page.getByText("The recording is not reaching the disk").waitFor({ state: "detached" });
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    const [file = ""] = readdirSync(elsewhere).filter((name) => name.endsWith(".ndjson"));
    const { state } = await verifyRecording(join(elsewhere, file));
    const whole = readFileSync(join(elsewhere, file));
    const oldUnharmed = old === null || (bytesIn(own)?.equals(old) === true && whole.indexOf(old) === 0);
    return { toldMs, viewWentOn, joined, state, oldUnharmed };
  } finally {
    await page.close();
    await service.stop();
    disk.remove();
    spare.remove();
  }
}

/** When the page got these words, by the wall clock, to a frame: a look from outside comes a second late. */
function timeOfWords(page: Page, words: string): Promise<number> {
  return page.evaluate<number>(`new Promise((resolve) => {
    const look = () => {
      if (document.body.textContent.includes(${JSON.stringify(words)})) resolve(Date.now());
      else requestAnimationFrame(look);
    };
    look();
  })`);
}

/** The recording in a folder; null where it cannot be reached. */
function bytesIn(folder: string): Buffer | null {
  if (!existsSync(folder)) return null;
  const [file] = readdirSync(folder).filter((name) => name.endsWith(".ndjson"));
  return file === undefined ? null : readFileSync(join(folder, file));
}

/** The time on the state line moves on by two seconds. */
async function goesOn(page: Page): Promise<boolean> {
  const shown = async (): Promise<string> =>
    (await page.locator(".now").first().innerText()).replace(/.*?(\d+:\d\d).*/s, "$1");
  const before = await shown();
  // A page that stands still is given up long after the busiest machine would have drawn.
  for (let i = 0; i < 300; i++) {
    if ((await shown()) > before) return true;
    await page.waitForTimeout(100);
  }
  return false;
}
