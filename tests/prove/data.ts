/**
 * What the interpreter says of recordings of real vehicles that are healthy as far as anybody knows: each sign by its
 * verdict, and how many files have one outside. Printed as it is; nothing here is asserted.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { interpret, type Findings } from "../../src/interpret/index.ts";
import { vehicleFactsSchema, type VehicleFacts } from "../../shared/vehicle.ts";
import { openData, openDataFiles } from "../support/openData.ts";
import { allVehicles } from "./cases.ts";
import { makeRecording, readBack } from "./one.ts";

export const dataUsage = `npm run prove -- --data FOLDER [--facts JSON] [--files a,b] [--each]
  Reads the files of an open data set (carobd, second-car) and prints each sign by its verdict, the share of signs that
  are judged at all, and the files in which one is outside.
  --facts JSON   vehicle facts, such as '{"fuel":"diesel","induction":"charged"}'
  --files a,b    only files whose names begin so
  --each         name the file of each sign that is outside
npm run prove -- --data bench
  the same of healthy bench vehicles
`;

/** Scripts of the healthy bench vehicles. */
const scripts = ["start-and-idle", "hold-2500", "cold-crank"] as const;

async function readBench(tally: DataTally): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "crankside-healthy-"));
  try {
    for (const vehicle of allVehicles)
      for (const script of scripts) {
        const out = join(folder, `${vehicle}-${script}.ndjson`);
        await makeRecording({ vehicle, fault: null, severity: 0, script, seed: 700_001 }, out);
        tally.take(`${vehicle}, ${script}`, await readBack(out));
      }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const verdicts = ["outside", "near", "within", "cannot-tell"] as const;

export class DataTally {
  readonly #signs = new Map<string, Record<(typeof verdicts)[number], number>>();
  readonly #outside: string[] = [];
  #files = 0;

  take(name: string, findings: Findings): void {
    this.#files += 1;
    for (const { id, key, verdict } of findings.signs) {
      const row = this.#signs.get(id) ?? { outside: 0, near: 0, within: 0, "cannot-tell": 0 };
      row[verdict] += 1;
      this.#signs.set(id, row);
      if (verdict === "outside") this.#outside.push(`${name}: ${key}`);
    }
  }

  text(each: boolean): string {
    const files = new Set(this.#outside.map((line) => line.slice(0, line.indexOf(":"))));
    const lines = [`${this.#files} files, ${files.size} with a sign outside its range`];
    lines.push(`${"sign".padEnd(28)}${verdicts.map((v) => v.padStart(12)).join("")}   judged`);
    let [judged, all] = [0, 0];
    for (const [id, row] of [...this.#signs].sort(([a], [b]) => (a < b ? -1 : 1))) {
      const total = verdicts.reduce((sum, v) => sum + row[v], 0);
      const told = total - row["cannot-tell"];
      judged += told;
      all += total;
      const counts = verdicts.map((v) => String(row[v]).padStart(12)).join("");
      lines.push(`${id.padEnd(28)}${counts}   ${told} of ${total}`);
    }
    lines.push(
      `${judged} of ${all} signs are judged: ${all === 0 ? "-" : ((100 * judged) / all).toFixed(1)} %; ` +
        `${this.#files === 0 ? "-" : (judged / this.#files).toFixed(2)} a file`,
    );
    return [...lines, ...(each ? this.#outside : [])].join("\n") + "\n";
  }
}

/** Runs what the command line asks for. */
export async function data(args: readonly string[]): Promise<number> {
  const { values } = parseArgs({
    args: [...args],
    options: {
      data: { type: "string" },
      facts: { type: "string" },
      files: { type: "string" },
      each: { type: "boolean", default: false },
      help: { type: "boolean", default: false },
    },
  });
  if (values.help || values.data === undefined) {
    process.stdout.write(dataUsage);
    return 0;
  }
  const facts: VehicleFacts | undefined =
    values.facts === undefined ? undefined : vehicleFactsSchema.parse(JSON.parse(values.facts));
  const begins = values.files?.split(",") ?? [""];
  const tally = new DataTally();
  if (values.data === "bench") await readBench(tally);
  else
    for (const name of openDataFiles(values.data).filter((f) => begins.some((b) => f.startsWith(b))))
      tally.take(name, interpret(await openData(values.data, name), facts));
  process.stdout.write(tally.text(values.each));
  return 0;
}
