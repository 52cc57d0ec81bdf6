/** The service killed while it records: what a page had been told to be saved must be in the file. */
import { spawn, type ChildProcess } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { readRecording } from "../../src/recorder/read.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { BarePage } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { idlingModule, tcpPeer } from "../support/tcpPeer.ts";

const built = join(import.meta.dirname, "../../dist/node/crankside.js");
const runIt = `import(${JSON.stringify(pathToFileURL(built).href)}).then(({ main }) => main(process.argv.slice(1)))`;

export interface Killed {
  /** Exchanges a second before the end. */
  readonly rate: number;
  /** Exchanges that the page had been told of as saved, and how many of them are not in the file. */
  readonly acknowledged: number;
  readonly missing: number;
  /** Exchanges that the page had been sent, saved or not, and that are not in the file. */
  readonly sentAndMissing: number;
  /** The file's bytes that differ from what the page was sent. */
  readonly differing: number;
  readonly state: string;
  /** Readings understood when it is opened again. */
  readonly exchanges: number;
}

/** Nothing was recorded that could be cut short: on a starved machine the set-up may run out of its time. */
export class NeverBegan extends Error {}

/**
 * Kills the service `afterMs` after its recording began to flow and so many exchanges were told to be saved. Chance comes
 * in as the caller's delay.
 */
export async function killOnce(afterMs: number, acknowledged = 0): Promise<Killed> {
  const folder = tempFolder();
  const adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5 });
  const child = spawn(
    process.execPath,
    ["-e", runIt, "serve", "--no-open", "--port", "0", "--folder", folder.path],
    { stdio: ["ignore", "pipe", "inherit"] },
  );
  try {
    const page = await BarePage.open(await urlOf(child));
    const connected = await page.ask({ type: "connect", address: adapter.address, facts: {} });
    if (connected.type === "failed") throw new NeverBegan(connected.failure.message);
    await page.until(() => (page.status?.recording?.bytes ?? 0) > 0 && allSent(page).text !== "");
    await page.until(() => exchangesIn(toldSaved(page)) >= acknowledged);
    const before = exchangesIn(allSent(page).text);
    const from = performance.now();
    await new Promise((resolve) => setTimeout(resolve, afterMs));
    const gone = page.closed();
    child.kill("SIGKILL");
    const took = performance.now() - from;
    await gone;
    return await judge(page, folder.path, { before, took });
  } finally {
    child.kill("SIGKILL");
    await adapter.close();
    folder.remove();
  }
}

async function judge(
  page: BarePage,
  folder: string,
  { before, took }: { before: number; took: number },
): Promise<Killed> {
  const file = page.status?.recording?.file ?? "";
  const path = join(folder, file);
  const bytes = readFileSync(path);
  const { from, text } = allSent(page);
  const sent = Buffer.from(text, "utf8");
  const saved = toldSaved(page);
  const onDisk = bytes.subarray(from).toString("utf8");
  const common = Math.min(sent.length, bytes.length - from);
  let differing = 0;
  for (let i = 0; i < common; i++) if (sent[i] !== bytes[from + i]) differing += 1;
  let exchanges = 0;
  const nothing = (): void => undefined;
  await readRecording(path, {
    header: nothing,
    notice: nothing,
    event: ({ k }) => {
      if (k === "x") exchanges += 1;
    },
  });
  const acknowledged = exchangesIn(saved);
  return {
    rate: (exchangesIn(text) - before) / (took / 1000),
    acknowledged,
    missing: acknowledged - exchangesIn(onDisk.slice(0, saved.length)),
    sentAndMissing: Math.max(0, exchangesIn(text) - exchangesIn(onDisk)),
    differing,
    state: (await verifyRecording(path)).state,
    exchanges,
  };
}

/** As much of the lines that the page got as it was told to be saved. */
function toldSaved(page: BarePage): string {
  const told = page.messages.findLast((m) => m.type === "status" && m.status.recording?.saved === true);
  const until = told?.type === "status" ? (told.status.recording?.bytes ?? 0) : 0;
  const { from, text } = allSent(page);
  return Buffer.from(text, "utf8")
    .subarray(0, Math.max(0, until - from))
    .toString("utf8");
}

/** All lines that the page got, joined, from the byte that they begin at. */
function allSent(page: BarePage): { from: number; text: string } {
  return page.lines(page.status?.recording?.file ?? "");
}

/** Whole lines that are exchanges. */
function exchangesIn(text: string): number {
  return text.split("\n").filter((line, i, all) => i < all.length - 1 && line.includes('"k":"x"')).length;
}

function urlOf(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let text = "";
    child.stdout?.setEncoding("utf8").on("data", (more: string) => {
      text += more;
      const said = /Crankside is at (http:\S+)/.exec(text);
      if (said?.[1] !== undefined) resolve(said[1]);
    });
    child.once("close", () => reject(new Error(`the service ended: ${text}`)));
  });
}
