/** Bundles made while their recording grows: from the page's door and with the command, opened in a folder elsewhere. */
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { realClock } from "../../adapters/link/index.ts";
import { openBundle } from "../../src/recorder/jobs/openBundle.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { tieOf } from "../../src/recorder/jobs/tie.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { putting } from "../../src/sheet/put.ts";
import { BarePage } from "../support/barePage.ts";
import { crankside, service, tempFolder } from "../support/program.ts";
import { idlingModule, tcpPeer, type TcpPeer } from "../support/tcpPeer.ts";

export interface Grown {
  readonly by: "page" | "command";
  /** Why it is not as it should be; empty when it is. */
  readonly problem: string;
  /** Bytes of the recording in the bundle. */
  readonly bytes: number;
  readonly ms: number;
}

export interface GrownAll {
  readonly bundles: readonly Grown[];
  /** Exchanges a second, from the first bundle to the last. */
  readonly rate: number;
  /** The same before the first, with nothing else to do. */
  readonly idleRate: number;
}

interface Place {
  readonly store: JobStore;
  readonly id: string;
  readonly file: string;
  readonly url: string;
  readonly folder: string;
}

/**
 * `by` tells for each bundle who makes it. The program is a process of its own, as a person has it, and bundles are judged
 * when all are made: in one process with it, the adapter and the judge kept it from its line. `idle`: exchanges that are
 * waited for first.
 */
export async function bundlesWhileGrowing(by: readonly Grown["by"][], idle = 0): Promise<GrownAll> {
  const folder = tempFolder();
  const adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5, waitsMs: 5 });
  const server = await service(folder.path);
  const url = server.said[1] ?? "";
  const page = await BarePage.open(url);
  try {
    const connected = await page.ask({ type: "connect", address: adapter.address, facts: {} });
    if (connected.type === "failed") throw new Error(connected.failure.message);
    await page.until(() => (page.status?.recording?.bytes ?? 0) > 4000);
    const file = page.status?.recording?.file ?? "";
    const store = new JobStore({ own: folder.path, bundled: null }, realClock);
    const place = { store, id: await jobOf(store, file), file, url, folder: folder.path };
    const alone = begin(adapter.peer);
    await page.until(() => adapter.peer.received.length >= alone.exchanges + idle);
    const idleRate = perSecond(adapter.peer, alone);
    const begun = begin(adapter.peer);
    const made: Made[] = [];
    for (const who of by) {
      const bytes = page.status?.recording?.bytes ?? 0;
      made.push(await once(place, who, made.length));
      // The next one is of a longer recording, however slow the machine is.
      await page.until(() => (page.status?.recording?.bytes ?? 0) > bytes);
    }
    const rate = perSecond(adapter.peer, begun);
    const bundles: Grown[] = [];
    for (const one of made) bundles.push(await judged(place, one));
    return { bundles, rate, idleRate };
  } finally {
    page.close();
    await server.stop();
    await adapter.close();
    folder.remove();
  }
}

/** With the recording, and a stretch of it that the note draws. */
async function jobOf(store: JobStore, file: string): Promise<string> {
  const { id } = await store.create("van");
  const tie = await tieOf(join(store.folders.own, file));
  const started = "2024-03-02T09:00:00.000+01:00";
  const job = await store.read(id);
  await store.change(id, [
    putting(job, "recordings", "r", { tie, started, from: "", invented: true, caption: "" }),
    putting(job, "clips", "c", {
      ...{ section: "signs", tie, from: 0, to: 400, lanes: [["engine-speed"]], caption: "" },
    }),
  ]);
  return id;
}

interface Made {
  readonly by: Grown["by"];
  readonly path: string;
  readonly failed: string;
  readonly ms: number;
}

async function once(place: Place, by: Grown["by"], n: number): Promise<Made> {
  const from = performance.now();
  const path = join(place.folder, `bundle-${n}.zip`);
  const failed = by === "page" ? await overHttp(place, path) : await byCommand(place, path);
  return { by, path, failed, ms: performance.now() - from };
}

interface Begun {
  readonly at: number;
  readonly exchanges: number;
}

function begin(peer: TcpPeer["peer"]): Begun {
  return { at: performance.now(), exchanges: peer.received.length };
}

function perSecond(peer: TcpPeer["peer"], { at, exchanges }: Begun): number {
  return ((peer.received.length - exchanges) * 1000) / (performance.now() - at);
}

async function overHttp({ url, id }: Place, path: string): Promise<string> {
  const response = await fetch(`${url}api/jobs/${id}/bundle.zip`);
  const body = Buffer.from(await response.arrayBuffer());
  if (!response.ok) return `${response.status} ${body.toString("utf8")}`;
  writeFileSync(path, body);
  return "";
}

async function byCommand({ id, folder }: Place, path: string): Promise<string> {
  const run = await crankside(["note", id, "--folder", folder, "--bundle", path]);
  return run.status === 0 ? "" : `status ${run.status}: ${run.stderr}`;
}

/** Opened elsewhere, where it lies there alone, against the file that goes on growing here. */
async function judged(place: Place, { by, path, failed, ms }: Made): Promise<Grown> {
  if (failed !== "") return { by, problem: failed, bytes: 0, ms };
  const own = `${path}-opened`;
  mkdirSync(own);
  const other = new JobStore({ own, bundled: null }, realClock);
  const { job } = await openBundle(other, path);
  const there = join(other.folder(job.id), "recordings", place.file);
  const { state, reasons, sha256, bytes } = await verifyRecording(there);
  const here = readFileSync(join(place.folder, place.file)).subarray(0, bytes);
  const problems = [
    // There is no end line yet, and nothing else may be wrong with it.
    state === "cut-short" && reasons.join() === "there is no end line" ? "" : `${state}: ${reasons.join()}`,
    createHash("sha256").update(here).digest("hex") === sha256 ? "" : "not what lies here",
    bytes > 0 ? "" : "empty",
  ];
  return { by, ms, bytes, problem: problems.filter((text) => text !== "").join("; ") };
}
