/** Files and texts that come from elsewhere, each to its reader. */
import { existsSync, mkdirSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { VirtualClock } from "../../adapters/link/index.ts";
import { readDefinedParameters } from "../../shared/defined.ts";
import { readMessage, requestSchema, serverMessageSchema } from "../../shared/messages.ts";
import { Reading } from "../../src/reading/index.ts";
import { importCsv, readRecording, verifyRecording } from "../../src/recorder/index.ts";
import { openBundle } from "../../src/recorder/jobs/openBundle.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { readJob } from "../../src/sheet/job.ts";
import { tempFolder } from "../support/program.ts";
import {
  bundleBytes,
  goodCsv,
  goodJob,
  goodMap,
  goodParameters,
  goodRecording,
  goodRequests,
} from "./good.ts";
import type { FuzzTarget } from "./fuzz.ts";
import { mutate, mutateJson } from "./mutate.ts";

const nothing = (): void => undefined;

export function recordings(): FuzzTarget {
  const folder = tempFolder();
  const path = join(folder.path, "broken.ndjson");
  const good = Buffer.from(goodRecording);
  const packed = gzipSync(good);
  return {
    name: "recordings, plain and compressed: read, verified, folded",
    async run(chance) {
      const bytes = mutate(chance, chance.below(4) === 0 ? packed : good);
      writeFileSync(path, bytes);
      const reading = new Reading("broken");
      reading.push(bytes.toString("utf8"));
      reading.finish();
      await verifyRecording(path);
      await readRecording(path, { header: nothing, event: nothing, notice: nothing });
      return undefined;
    },
    close: () => folder.remove(),
  };
}

export function csvFiles(): FuzzTarget {
  const folder = tempFolder();
  const clock = new VirtualClock();
  const csv = join(folder.path, "broken.csv");
  const out = join(folder.path, "out.ndjson");
  return {
    name: "CSV files and column maps",
    async run(chance) {
      const brokenMap = chance.below(3) === 0;
      writeFileSync(csv, brokenMap ? goodCsv : mutate(chance, Buffer.from(goodCsv)));
      const map = brokenMap ? mutateJson(chance, goodMap) : goodMap;
      rmSync(out, { force: true });
      await importCsv({ csv, map: map ?? "none", out, clock, writer: "fuzz" });
      return undefined;
    },
    close: () => folder.remove(),
  };
}

export function texts(): FuzzTarget {
  return {
    name: "messages of both directions, jobs, parameters that a person defined",
    run(chance) {
      const [good, read] = chance.of<readonly [unknown, (text: string) => unknown]>([
        [chance.of(goodRequests), (text) => readMessage(requestSchema, text)],
        [chance.of(goodRequests), (text) => readMessage(serverMessageSchema, text)],
        [goodJob, (text) => readJob(text, "job.json")],
        [goodParameters, (text) => readDefinedParameters(text, "parameters.json")],
      ]);
      const text =
        chance.below(3) === 0
          ? mutate(chance, Buffer.from(JSON.stringify(good))).toString("utf8")
          : JSON.stringify(mutateJson(chance, good));
      read(text);
      return undefined;
    },
  };
}

/** A bundle that is good but for a few bytes, and whole ones with evil names in them. */
export async function bundles(): Promise<FuzzTarget> {
  const folder = tempFolder();
  const own = join(folder.path, "own");
  mkdirSync(own);
  const path = join(folder.path, "broken.zip");
  const good = await bundleBytes();
  const store = new JobStore({ own, bundled: null }, new VirtualClock());
  const before = outside(folder.path);
  return {
    name: "bundles",
    async run(chance) {
      writeFileSync(path, mutate(chance, good));
      try {
        const { job } = await openBundle(store, path);
        rmSync(store.folder(job.id), { recursive: true });
      } finally {
        if (outside(folder.path) !== before) throw new Error("something was written outside the folder");
        const left = existsSync(store.root) ? readdirSync(store.root).filter((n) => n.startsWith(".op")) : [];
        if (left.length > 0) throw new Error(`left behind: ${left.join(", ")}`);
      }
      return undefined;
    },
    close: () => folder.remove(),
  };
}

/** Names beside the recordings folder. */
function outside(folder: string): string {
  return readdirSync(folder)
    .filter((name) => name !== "broken.zip")
    .join();
}
