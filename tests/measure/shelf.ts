/** Looking through a shelf of 10,000 recordings and 2,000 jobs. `shelf:500`: of fewer recordings, and a fifth as many jobs. */
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { eventLine, headerLine } from "../../shared/recording/format.ts";
import { Shelf } from "../../src/recorder/shelf/shelf.ts";
import { shelfOf } from "../../src/recorder/shelfSources.ts";
import { newJob } from "../../src/sheet/job.ts";
import { search, type Query } from "../../src/sheet/shelf/search.ts";
import { readingLine } from "./longRecording.ts";

const print = (text: string): void => void process.stdout.write(`  ${text}\n`);

const words = ["wing", "plug", "greased", "intake", "gasket", "relay", "battery", "hisses", "shakes", "cold"];
const codes = ["0171", "0302", "0335", "0420", "0562"];

export async function measureShelf(part?: string): Promise<void> {
  const count = part === undefined ? 10_000 : Number(part);
  if (!(count >= 10)) throw new Error(`shelf:NUMBER of recordings, not shelf:${part ?? ""}`);
  const folder = mkdtempSync(join(tmpdir(), "crankside-shelf-"));
  try {
    generate(folder, count);
    const made = performance.now();
    await new Shelf(folder).refresh();
    const madeMs = performance.now() - made;
    print(`${count} recordings, ${count / 5} jobs: indexes made in ${(madeMs / 1000).toFixed(1)} s, once`);
    // Nothing loaded: what a new program finds on the disk, held against reading the same files and nothing else.
    const cold = performance.now();
    const used = process.cpuUsage();
    const shelf = new Shelf(folder);
    const missing = shelf.load();
    const first = search(shelf.all, { words: ["garden", "intake"] });
    const coldMs = performance.now() - cold;
    const { user, system } = process.cpuUsage(used);
    if (missing.length > 0 || first.length === 0) throw new Error("the indexes were not there");
    const floor = performance.now();
    const { recordings } = shelfOf([folder]);
    for (const { file } of recordings) readFileSync(join(folder, ".shelf", `${file}.json`));
    const floorMs = performance.now() - floor;
    print(
      `first answer with nothing loaded: ${coldMs.toFixed(0)} ms (wanted: under 2000; ${((user + system) / 1000).toFixed(0)} ms of the processor), ${(coldMs / floorMs).toFixed(1)} x listing and reading the files (${floorMs.toFixed(0)} ms)`,
    );
    const queries: Query[] = [
      { words: ["garden", "intake"] },
      { words: ["zebra"] },
      { words: [], sign: "mixture." },
      { words: ["shakes"], code: "P03", since: "2025-06" },
      { words: [] },
    ];
    for (const query of queries) {
      const times = Array.from({ length: 21 }, () => {
        const from = performance.now();
        search(shelf.all, query);
        return performance.now() - from;
      }).sort((a, b) => a - b);
      const found = search(shelf.all, query).length;
      print(
        `warm ${JSON.stringify(query)}: ${(times[10] ?? 0).toFixed(1)} ms, at worst ${(times[20] ?? 0).toFixed(1)} ms (wanted: under 200), ${found} found`,
      );
    }
    const again = performance.now();
    shelf.load();
    print(`looking whether anything has changed: ${(performance.now() - again).toFixed(0)} ms`);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function generate(folder: string, count: number): void {
  const lines = Array.from({ length: 40 }, (_, i) => readingLine(i, i * 50)).join("");
  for (let n = 0; n < count; n++) {
    const pick = <T>(from: readonly T[], by: number): T | undefined =>
      from[(n * by + (n >> 3)) % from.length];
    const month = String((n % 12) + 1).padStart(2, "0");
    const day = String((n % 27) + 1).padStart(2, "0");
    const started = `2025-${month}-${day}T08:00:00.000+01:00`;
    const name = `${pick(["Garden van", "Hay truck", "Old hatch"], 1) ?? ""} ${n % 300}`;
    const complaint = `It ${pick(words, 3) ?? ""} and ${pick(words, 7) ?? ""} when ${pick(words, 1) ?? ""}`;
    const header = headerLine({
      ...{ format: "crankside-recording", version: 1, started, from: "measure", adapter: null },
      ...{ protocol: "can11-500", invented: true, writer: "measure", vehicle: { name, cylinders: 4 } },
    });
    const code = pick(codes, 5) ?? "";
    const told = [
      eventLine({ k: "facts", t: 0, facts: { complaint, vehicle: { name, cylinders: 4 } } }),
      eventLine({
        ...{ k: "x", t: 2100, ask: "03", first: 11, end: 13 },
        lines: [`7E8 04 43 01 ${code.slice(0, 2)} ${code.slice(2)}`],
      }),
      eventLine({ k: "mark", t: 2200, id: "m", at: 2000, label: `looked at the ${pick(words, 9) ?? ""}` }),
    ].join("");
    const file = `r${String(n).padStart(5, "0")}.ndjson`;
    writeFileSync(join(folder, file), header + lines + told);
    if (n % 5 !== 0) continue;
    const id = `job-${n}`;
    const job = {
      ...newJob(id, started),
      vehicle: { name },
      texts: {
        complaint,
        conclusion: `The ${pick(words, 2) ?? ""} by the ${pick(words, 4) ?? ""} was loose.`,
      },
      recordings: {
        r: {
          ...{ order: 0, started, from: "measure", invented: true, caption: "" },
          tie: { file, bytes: 0, sha256: "0".repeat(64) },
        },
      },
    };
    mkdirSync(join(folder, "jobs", id), { recursive: true });
    writeFileSync(join(folder, "jobs", id, "job.json"), JSON.stringify(job));
  }
}
