/** Measures what stands in the table of speed, and prints it as DEVELOPERS.md keeps it. */
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { launchBrowser } from "../support/browser.ts";
import { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { tableOf, type Measured } from "./held.ts";
import { growth, liveDelays, signDelay, usualPace, type LiveDelays } from "./livePage.ts";
import { opening, type Opened } from "./page.ts";

const seconds = (ms: number): string => `${(ms / 1000).toFixed(2)} s`;
const opened = ({ ms, floorMs }: Opened): string => `${seconds(ms)}, ${(ms / floorMs).toFixed(2)} x`;

/** Milliseconds of a command of package.json, or that it failed. */
function timed(command: string): string {
  const from = performance.now();
  const { status } = spawnSync("npm", ["run", "-s", command], {
    cwd: join(import.meta.dirname, "../.."),
    stdio: "ignore",
  });
  const took = performance.now() - from;
  return status === 0 ? (took < 120_000 ? seconds(took) : `${(took / 60_000).toFixed(1)} min`) : "it failed";
}

async function openings(small: boolean): Promise<Pick<Measured, "one" | "ten">> {
  const pages = await Pages.start();
  try {
    const one = await opening(pages, small ? 1 / 60 : 1, small ? 1 : 7);
    return { one: opened(one), ten: opened(await opening(pages, small ? 2 / 60 : 10, small ? 1 : 3)) };
  } finally {
    await pages.stop();
  }
}

async function liveView(small: boolean): Promise<Omit<Measured, "one" | "ten" | "tests" | "check">> {
  const browser = await launchBrowser();
  const size = small ? { filledMs: 60_000, measuredMs: 2000 } : {};
  const fast = { ...usualPace, everyMs: 1000 / 4500, filledMs: 60_000, ...size };
  const hour = small ? 12_000 : 3_600_000;
  const thread = ({ thread: share }: LiveDelays): string => `${(100 * share).toFixed(1)} %`;
  try {
    const { ms, floorMs } = await liveDelays(browser, { ...usualPace, ...size });
    return {
      live: `${ms.toFixed(1)} ms, a bare page ${floorMs.toFixed(1)} ms`,
      sign: seconds(await signDelay(browser, small ? 1 : 9)),
      fast: thread(await liveDelays(browser, fast)),
      bytes: (await growth(browser, usualPace.everyMs, hour)).toFixed(1),
      fastBytes: (await growth(browser, fast.everyMs, hour)).toFixed(1),
    };
  } finally {
    await browser.close();
  }
}

/** `table small`: only that each works, with sizes whose figures say nothing; nothing of it is to be kept. */
export async function measureTable(part?: string): Promise<void> {
  if (chromium === null) {
    process.stdout.write("  SKIPPED: chromium is missing\n");
    return;
  }
  const small = part === "small";
  const figures = { ...(await openings(small)), ...(await liveView(small)) };
  const commands = small ? { tests: "-", check: "-" } : { tests: timed("test"), check: timed("check") };
  process.stdout.write(
    `\n${small ? "Too small to be kept:\n\n" : ""}${tableOf({ ...figures, ...commands })}`,
  );
}
