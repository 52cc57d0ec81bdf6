/** What is kept, and what is let in, in figures. `npm run measure -- reliability`, or one part: `reliability:kill`. */
import { join } from "node:path";
import { build } from "../support/build.ts";
import { launchBrowser } from "../support/browser.ts";
import { chromium } from "../support/tools.ts";
import { diskFaults, diskOnPage, mayHappen } from "../reliability/diskOnPage.ts";
import { doors } from "../reliability/doorsTarget.ts";
import { fuzz, type FuzzTarget } from "../reliability/fuzz.ts";
import { bundlesWhileGrowing } from "../reliability/growing.ts";
import { killOnce, NeverBegan } from "../reliability/kill.ts";
import { longRun, type Hour } from "../reliability/long.ts";
import { madAdapter } from "../reliability/madAdapter.ts";
import { Chance } from "../reliability/mutate.ts";
import { losePower } from "../reliability/power.ts";
import { bundles, csvFiles, recordings, texts } from "../reliability/targets.ts";
import { mayMount } from "../support/smallDisk.ts";
import { quantile } from "./figures.ts";

const parts: Readonly<Record<string, () => Promise<void>>> = {
  ...{ kill, power, bundle, disk, fuzz: fuzzAll, long },
};

export async function measureReliability(part?: string): Promise<void> {
  if (part !== undefined && !Object.hasOwn(parts, part))
    throw new Error(`no part ${part}; there are ${Object.keys(parts).join(", ")}`);
  build();
  for (const [name, run] of Object.entries(parts)) if (part === undefined || part === name) await run();
}

function say(text: string): void {
  process.stdout.write(`  ${text}\n`);
}

/** Runs that may be made up for. */
const mostNeverBegan = 20;

async function kill(): Promise<void> {
  const runs = 200;
  const chance = new Chance(1);
  const rates: number[] = [];
  let acknowledged = 0;
  let missing = 0;
  let sentAndMissing = 0;
  let differing = 0;
  let unopened = 0;
  let neverBegan = 0;
  while (rates.length < runs) {
    const run = await killOnce(600 + chance.below(900)).catch((error: unknown) => {
      if (!(error instanceof NeverBegan) || neverBegan >= mostNeverBegan) throw error;
      neverBegan += 1;
    });
    if (run === undefined) continue;
    rates.push(run.rate);
    acknowledged += run.acknowledged;
    missing += run.missing;
    sentAndMissing += run.sentAndMissing;
    differing += run.differing;
    if (run.state !== "cut-short" || run.exchanges < run.acknowledged) unopened += 1;
  }
  say(
    `kill: ${runs} times SIGKILL at ${quantile(rates, 0.5).toFixed(0)} exchanges a second (median); ${neverBegan} more never began`,
  );
  say(`kill: of ${acknowledged} exchanges told to the page as saved ${missing} missing`);
  say(
    `kill: sent to the page and missing ${sentAndMissing}, bytes that differ ${differing}, files not opened ${unopened}`,
  );
}

async function power(): Promise<void> {
  const runs = 1000;
  const chance = new Chance(2);
  const lost: number[] = [];
  let differing = 0;
  for (let i = 0; i < runs; i++) {
    const slowest = chance.below(400);
    const loss = await losePower({
      atMs: 1000 + chance.below(5000),
      everyMs: 5,
      syncMs: () => chance.below(slowest + 1),
      zeros: chance.of([0, 1, 512, 4096]),
    });
    lost.push(loss.lostMs);
    differing += loss.differing;
  }
  say(
    `power: ${runs} losses at 200 exchanges a second, syncs of up to 0.4 s: lost ${quantile(lost, 0.5).toFixed(0)} ms ` +
      `(median), ${quantile(lost, 1).toFixed(0)} ms (most); lines that differ ${differing}`,
  );
}

async function bundle(): Promise<void> {
  const runs = 200;
  const by = Array.from({ length: runs }, (_, i) => (i % 4 === 3 ? ("command" as const) : ("page" as const)));
  const { bundles, rate, idleRate } = await bundlesWhileGrowing(by, 2000);
  const wrong = bundles.filter(({ problem }) => problem !== "");
  const times = bundles.map(({ ms }) => ms);
  const sizes = bundles.map(({ bytes }) => bytes);
  say(
    `bundle: ${runs} made (${by.filter((who) => who === "command").length} by the command) of a recording that grew by ` +
      `${rate.toFixed(0)} exchanges a second (${idleRate.toFixed(0)} before the first), from ${kb(Math.min(...sizes))} to ${kb(Math.max(...sizes))}`,
  );
  say(
    `bundle: opened elsewhere and verified in ${runs - wrong.length} of ${runs}; ${quantile(times, 0.5).toFixed(0)} ms each (median)`,
  );
  for (const { by: who, problem } of wrong.slice(0, 5)) say(`bundle: wrong, by the ${who}: ${problem}`);
}

const kb = (bytes: number): string => `${(bytes / 1000).toFixed(0)} kB`;

async function disk(): Promise<void> {
  if (!mayMount || chromium === null) {
    say("disk: needs the right to mount, and Chromium: left out");
    return;
  }
  const browser = await launchBrowser();
  for (const fault of diskFaults) {
    if (!mayHappen(fault)) {
      say(`disk ${fault}: this machine does not let us bring that about: left out`);
      continue;
    }
    const times: number[] = [];
    let whole = 0;
    for (let i = 0; i < 10; i++) {
      const { toldMs, ...seen } = await diskOnPage(browser, fault);
      times.push(toldMs);
      if (seen.state === "whole" && seen.viewWentOn && seen.joined && seen.oldUnharmed) whole += 1;
    }
    say(
      `disk ${fault}: ${times.length} times, on the page after ${quantile(times, 0.5).toFixed(0)} ms (median), ` +
        `${quantile(times, 1).toFixed(0)} ms (most); view went on, a page that joined saw it, one act saved it whole ` +
        `and the old file was as before in ${whole} of ${times.length}`,
    );
  }
  await browser.close();
}

async function fuzzAll(): Promise<void> {
  // One is made when the one before is done: a server that goes on would be measured along.
  const targets: readonly (readonly [() => FuzzTarget | Promise<FuzzTarget>, number])[] = [
    [() => madAdapter, 1_000_000],
    [recordings, 20_000],
    [csvFiles, 20_000],
    [texts, 200_000],
    [bundles, 5000],
    [doors, 10_000],
  ];
  for (const [make, cases] of targets) {
    const target = await make();
    const { name, cases: done, refused, slowestMs, slowestCpuMs, grewMb } = await fuzz(target, cases, 2024);
    say(
      `fuzz ${name}: ${done} cases, 0 without a code, ${refused} coded errors, slowest ${slowestMs.toFixed(0)} ms ` +
        `(${slowestCpuMs.toFixed(0)} ms of processor), memory +${grewMb.toFixed(0)} MB`,
    );
  }
}

async function long(): Promise<void> {
  const browser = chromium !== null;
  build();
  const from = performance.now();
  // A bus of some 40 values a second: a faster one takes an hour and more for its nine.
  const result = await longRun({
    vehicle: "hay-truck",
    hours: 9,
    stepMinutes: 60,
    browser,
    pageFolder: join(import.meta.dirname, "../../dist/page"),
    onStep: (hour) => say(`long: ${hourText(hour)}`),
  });
  const minutes = (performance.now() - from) / 60_000;
  say(
    `long: ${minutes.toFixed(1)} min of real time; recording ${result.state}, link ${result.link}, ` +
      `negative times ${result.negativeTimes}, gaps: ${result.gaps.join("; ")}`,
  );
}

function hourText({ minutes, readings, page, ...server }: Hour): string {
  const mb = (value: number): string => `${value.toFixed(0)} MB`;
  const seen =
    page === null
      ? "no page"
      : `page: heap ${mb(page.heapMb)} and ${mb(page.buffersMb)} of arrays, listeners ${page.listeners}, ` +
        `nodes ${page.nodes}, timers ${page.timers}`;
  return (
    `hour ${minutes / 60}: ${(readings / (minutes * 60)).toFixed(0)} readings/s (at 16 bytes each ` +
    `${mb(server.samplesMb)}), file ${mb(server.fileMb)}; ` +
    `server: heap ${mb(server.serverHeapMb)} (rss ${mb(server.serverRssMb)}), handles ${server.handles}, ` +
    `emitters ${server.emitters}, timers ${server.timers}; ${seen}`
  );
}
