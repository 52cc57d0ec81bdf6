/**
 * Many recordings as tables: 1,000 of an hour, exported, and the ten queries of recordings/PARQUET.md asked of them by
 * DuckDB, which is installed into a temporary folder and is no dependency of ours. `parquet:50`: of fewer recordings.
 */
import { execFileSync } from "node:child_process";
import {
  copyFileSync,
  createWriteStream,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { eventLine, headerLine } from "../../shared/recording/format.ts";
import { Reading } from "../../src/reading/index.ts";
import { exportParquet } from "../../src/recorder/parquet/export.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { newJob } from "../../src/sheet/job.ts";
import { nothingMasked } from "../../src/sheet/mask.ts";
import { benchRecording } from "../support/benchRecording.ts";
import { readingLine } from "./longRecording.ts";

const vehicles = 50;
/** Milliseconds between two readings of the hour behind the start. */
const everyMs = 100;

const print = (text: string): void => void process.stdout.write(`  ${text}\n`);
const mb = (bytes: number): string => `${(bytes / 1e6).toFixed(1)} MB`;

export async function measureParquet(part?: string): Promise<void> {
  const count = part === undefined ? 1000 : Number(part);
  if (!(count >= 1)) throw new Error(`parquet:NUMBER of recordings, not parquet:${part ?? ""}`);
  const root = mkdtempSync(join(tmpdir(), "crankside-parquet-"));
  try {
    const folder = join(root, "recordings");
    const out = join(root, "tables");
    const plain = await generate(folder, count);
    const gz = sizeOf(folder);
    await measureExport({ root, folder, out, count, plain, gz });
    await ask(root, out);
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
}

interface Exported {
  readonly root: string;
  readonly folder: string;
  readonly out: string;
  readonly count: number;
  /** Bytes of the recordings' text, and packed. */
  readonly plain: number;
  readonly gz: number;
}

async function measureExport({ root, folder, out, count, plain, gz }: Exported): Promise<void> {
  const copied = join(root, "copied");
  mkdirSync(copied);
  const copyS = await seconds(() => {
    for (const file of ndjson(folder)) copyFileSync(join(folder, file), join(copied, file));
  });
  rmSync(copied, { recursive: true });
  // A tenth of them, so that the floor does not take as long as the work.
  const some = ndjson(folder).slice(0, Math.max(1, Math.floor(count / 10)));
  const readS =
    ((await seconds(async () => {
      for (const file of some) await readRecording(join(folder, file), new Reading(file).sink);
    })) *
      count) /
    some.length;
  const memory: number[] = [];
  let told = { rows: 0, bytes: 0, written: 0, problems: [] as readonly unknown[] };
  const exportS = await seconds(async () => {
    told = await exportParquet([folder], out, {
      ...{ masking: nothingMasked, writer: "measure" },
      onProgress: () => memory.push(process.memoryUsage().rss),
    });
  });
  if (told.problems.length > 0) throw new Error(`not exported: ${JSON.stringify(told.problems[0])}`);
  print(`${count} recordings of an hour, ${told.rows} rows, ${told.written} files' sources`);
  print(
    `size: ${mb(told.bytes)}; recordings ${mb(plain)}, gzip ${mb(gz)}: ${(told.bytes / gz).toFixed(2)} x gzip`,
  );
  print(
    `export: ${exportS.toFixed(1)} s, ${Math.round(told.rows / exportS)} rows/s; reading alone ${readS.toFixed(1)} s` +
      ` (${(exportS / readS).toFixed(1)} x), plain copying ${copyS.toFixed(2)} s (${(exportS / copyS).toFixed(0)} x)`,
  );
  const tenth = Math.max(1, Math.floor(memory.length / 10));
  const peak = (from: number): string => mb(Math.max(...memory.slice(from, from + tenth)));
  print(
    `memory, most in each tenth: ${[1, 3, 5, 7, 9].map((i) => peak(Math.min(i * tenth, memory.length - tenth))).join(", ")}`,
  );
  const againS = await seconds(async () => {
    const again = await exportParquet([folder], out, { masking: nothingMasked, writer: "measure" });
    if (again.written > 0) throw new Error("what has not changed was written again");
  });
  print(`again, nothing changed: ${againS.toFixed(2)} s`);
}

/** Starts of the bench vehicle in several states, each followed by an hour of readings. Returns the bytes of the text. */
async function generate(folder: string, count: number): Promise<number> {
  mkdirSync(folder, { recursive: true });
  const kinds = [
    { vehicle: "garden-van", script: "start-and-idle" },
    { vehicle: "garden-van", script: "start-and-idle", coldStartC: -12 },
    { vehicle: "garden-van", script: "start-and-idle", coldStartC: 2 },
    { vehicle: "garden-van", script: "crank-only", faults: [{ name: "weak-battery", severity: 0.7 }] },
    { vehicle: "garden-van", script: "crank-only", faults: [{ name: "relay-open", severity: 1 }] },
    { vehicle: "garden-van", script: "hold-2500", faults: [{ name: "unmetered-air-bank", severity: 1 }] },
  ] as const;
  const starts: { lines: string; lastMs: number; cause: string | null }[] = [];
  for (const [i, kind] of kinds.entries()) {
    const text = await benchRecording({ ...kind, seed: i + 1, survey: true });
    const lines = text.slice(text.indexOf("\n") + 1).replace(/^.*"k":"end".*\n/m, "");
    const times = [...lines.matchAll(/^\{"t":([\d.]+)/gm)].map((m) => Number(m[1]));
    const cause = "faults" in kind ? (kind.faults[0].name === "relay-open" ? "relay-open" : null) : null;
    starts.push({ lines, lastMs: Math.ceil(Math.max(...times)) + 5000, cause });
  }
  let hour = "";
  for (let i = 0; i * everyMs < 3_600_000; i++) hour += `\u0001${i}\n`;
  const hours = starts.map(({ lastMs }) =>
    hour.replace(/\u0001(\d+)\n/g, (_, i: string) => readingLine(Number(i), lastMs + Number(i) * everyMs)),
  );
  const codes = eventLine({
    ...{ k: "x", t: 3_700_000, ask: "03", lines: ["7E8 06 43 02 01 71 03 02"], first: 11, end: 13 },
  });
  // The last kind has two codes at its end: bank 1 lean, misfire of cylinder 2.
  const packed = starts.map(
    ({ lines }, k) => lines + (hours[k] ?? "") + (k === starts.length - 1 ? codes : ""),
  );
  let plain = 0;
  for (let n = 0; n < count; n++) {
    const kind = n % starts.length;
    const vehicle = n % vehicles;
    const month = String((Math.floor(n / vehicles) % 12) + 1).padStart(2, "0");
    const day = String((n % 27) + 1).padStart(2, "0");
    const started = `2025-${month}-${day}T08:${String(n % 60).padStart(2, "0")}:00.000+01:00`;
    const text =
      headerLine({
        ...{ format: "crankside-recording", version: 1, started, from: "measure", adapter: null },
        ...{ protocol: "can11-500", invented: true, writer: "measure" },
        vehicle: { name: `Cart ${vehicle}`, batteryYear: 2025 - (vehicle % 9) },
      }) + (packed[kind] ?? "");
    plain += text.length;
    const file = `r${String(n).padStart(5, "0")}.ndjson.gz`;
    await write(join(folder, file), gzipSync(text));
    const cause = starts[kind]?.cause ?? null;
    if (cause !== null) writeJob(folder, { n, file, started, cause });
  }
  return plain;
}

function writeJob(
  folder: string,
  { n, file, started, cause }: { n: number; file: string; started: string; cause: string },
): void {
  const id = `job-${n}`;
  const tie = { file, bytes: 0, sha256: "0".repeat(64) };
  const job = {
    ...newJob(id, started),
    vehicle: { name: `Cart ${n % vehicles}` },
    recordings: { r: { order: 0, tie, started, from: "measure", invented: true, caption: "" } },
    log: {
      a: { order: 0, entry: { k: "result", id: "a", at: started, check: "relay-swap", outcome: "works" } },
    },
    causes: { c: { order: 0, cause, name: cause, standing: "proved", proof: "swapped" } },
  };
  mkdirSync(join(folder, "jobs", id), { recursive: true });
  writeFileSync(join(folder, "jobs", id, "job.json"), JSON.stringify(job));
}

function write(path: string, bytes: Uint8Array): Promise<void> {
  return new Promise((resolve, reject) => {
    createWriteStream(path).on("error", reject).end(bytes, resolve);
  });
}

const ndjson = (folder: string): string[] => readdirSync(folder).filter((name) => /\.ndjson\.gz$/.test(name));
const sizeOf = (folder: string): number =>
  ndjson(folder).reduce((sum, name) => sum + statSync(join(folder, name)).size, 0);

async function seconds(work: () => unknown): Promise<number> {
  const from = performance.now();
  await work();
  return (performance.now() - from) / 1000;
}

interface Connection {
  run(sql: string): Promise<unknown>;
  runAndReadAll(sql: string): Promise<{ getRows(): unknown[][] }>;
}

/** The view statements and the queries, as they stand in the description. */
export function queriesOf(text: string): string[] {
  return [...text.matchAll(/```sql\n([\s\S]*?)```/g)].map((match) => match[1] ?? "");
}

async function ask(root: string, out: string): Promise<void> {
  const place = join(root, "engine");
  mkdirSync(place);
  writeFileSync(join(place, "package.json"), '{"private":true}');
  execFileSync("npm", ["install", "--no-audit", "--no-fund", "@duckdb/node-api"], {
    cwd: place,
    stdio: "pipe",
  });
  // Through Node's own loader: the runner that this file came by reads other modules in another way.
  const { DuckDBInstance } = createRequire(join(place, "package.json"))("@duckdb/node-api") as {
    DuckDBInstance: { create(path: string): Promise<{ connect(): Promise<Connection> }> };
  };
  const connection = await (await DuckDBInstance.create(":memory:")).connect();
  const text = readFileSync(join(import.meta.dirname, "../../recordings/PARQUET.md"), "utf8");
  const [views = "", ...queries] = queriesOf(text);
  for (const view of views.split(";").filter((sql) => sql.trim() !== ""))
    await connection.run(view.replaceAll("'OUT/", `'${out.replaceAll("'", "''")}/`));
  if (queries.length !== 10) throw new Error(`${queries.length} queries in recordings/PARQUET.md, not ten`);
  for (const [i, sql] of queries.entries()) {
    let rows: unknown[][] = [];
    const took = await seconds(async () => {
      rows = (await connection.runAndReadAll(sql)).getRows();
    });
    const first = rows[0]?.map(String).join(" | ") ?? "no rows";
    print(
      `query ${String(i + 1).padStart(2)}: ${(took * 1000).toFixed(0).padStart(6)} ms, ${rows.length} rows; first: ${first}`,
    );
  }
}
