/**
 * The proving set: what the interpreter finds in recordings of the bench vehicle, healthy and broken. Printed as it
 * is; nothing here is asserted.
 */
import { fork } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { advise } from "../../src/interpret/causes/advice.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { Complaint } from "../../src/interpret/causes/types.ts";
import type { Findings, Sign } from "../../src/interpret/index.ts";
import { casesOf, type Case } from "./cases.ts";
import { drive, feltRough, toldOf } from "./driver.ts";
import { expected } from "./expect.ts";
import { findingsOf } from "./one.ts";
import { proveOptions, setOf, usage, type ProveOptions } from "./options.ts";
import { Progress } from "./progress.ts";
import { report } from "./report.ts";
import { ShopVehicle } from "./shopBench.ts";
import { trueCauses } from "./shopTruth.ts";
import { add, addTally, emptyTally, faultOf, readTally, type Tally } from "./tally.ts";

/** Runs what the command line asks for. `entry`: the program that the processes at work are started with. */
export async function prove(args: readonly string[], entry: string): Promise<number> {
  const options = proveOptions(args);
  if (options.help) {
    process.stdout.write(usage);
    return 0;
  }
  const tally = options.sum === null ? await run(args, options, entry) : added(options.sum);
  if (options.out !== null) writeFileSync(options.out, `${JSON.stringify(tally, null, 1)}\n`);
  // A part tells its parent by file.
  if (!options.part) process.stdout.write(report(tally));
  return 0;
}

function added(files: readonly string[]): Tally {
  const parts = files.map((file) => readTally(readFileSync(file, "utf8")));
  const all = emptyTally(parts[0]?.set ?? "");
  for (const part of parts) addTally(all, part);
  return all;
}

/** Every n-th case, so that each part holds some of all. */
export function shardOf<T>(cases: readonly T[], [part, parts]: readonly [number, number]): T[] {
  return cases.filter((_, i) => i % parts === part - 1);
}

async function run(args: readonly string[], options: ProveOptions, entry: string): Promise<Tally> {
  const cases = shardOf(casesOf(options), options.shard);
  const folder = mkdtempSync(join(tmpdir(), "crankside-prove-"));
  const progress = new Progress(cases.length, options.part);
  try {
    if (options.jobs > 1) return await together(args, options, { entry, folder, progress });
    const tally = emptyTally(setOf(options));
    for (const one of cases) {
      const findings = await findingsOf(one, folder);
      const shown = complaintsOf(findings);
      count(tally, one, { findings, complaints: options.told ? toldOn(one, shown) : shown });
      progress.done();
    }
    return tally;
  } finally {
    progress.end();
    rmSync(folder, { recursive: true, force: true });
  }
}

interface Work {
  readonly entry: string;
  readonly folder: string;
  readonly progress: Progress;
}

/** The same part again, cut among processes; a later option takes the place of an earlier one. */
async function together(args: readonly string[], options: ProveOptions, work: Work): Promise<Tally> {
  const { jobs } = options;
  const [part, parts] = options.shard;
  const files = Array.from({ length: jobs }, (_, i) => join(work.folder, `part-${i + 1}.json`));
  const running = files.map((file, i) => {
    // The i-th of the cases at part, part + parts, part + 2 parts...
    const shard = `${part + i * parts}/${parts * jobs}`;
    return runPart([...args, "--part", "--jobs", "1", "--shard", shard, "--out", file], work);
  });
  await Promise.all(running);
  return added(files);
}

function runPart(args: readonly string[], { entry, progress }: Work): Promise<void> {
  return new Promise((resolve, reject) => {
    const child = fork(entry, args, { stdio: ["ignore", "inherit", "inherit", "ipc"] });
    child.on("message", () => progress.done());
    child.on("error", reject);
    child.on("exit", (code, signal) => {
      if (code === 0) resolve();
      else reject(new Error(`a process of the proving set ended with ${code ?? signal ?? "nothing"}`));
    });
  });
}

/** What its driver would say of such a vehicle, and what the recording shows. */
function toldOn(one: Case, shown: readonly Complaint[]): readonly Complaint[] {
  const { vehicle, fault, severity, seed } = one;
  if (fault === null) return shown;
  const driven = drive(new ShopVehicle(vehicle, [{ name: fault, severity }], seed));
  return toldOf(driven, { rough: feltRough(one, driven), shown });
}

interface Read {
  readonly findings: Findings;
  readonly complaints: readonly Complaint[];
}

function count(tally: Tally, one: Case, { findings, complaints }: Read): void {
  const outside = findings.signs.filter((s) => s.verdict === "outside");
  if (one.fault === null) {
    tally.healthy += 1;
    if (outside.length > 0) tally.alarmed += 1;
    for (const sign of outside) add(tally.alarms, `${sign.id} (${one.vehicle}, ${one.script})`);
    return;
  }
  const { fault } = one;
  const sum = faultOf(tally, fault);
  sum.runs += 1;
  const leads = (sign: Sign): boolean =>
    (expected[fault]?.signs ?? []).some((id) => (id.endsWith(".") ? sign.id.startsWith(id) : sign.id === id));
  if (outside.some(leads)) sum.found += 1;
  else if (findings.signs.some((s) => s.verdict === "near" && leads(s))) sum.near += 1;
  else if (findings.signs.some((s) => s.verdict === "cannot-tell" && leads(s))) sum.untold += 1;
  for (const id of new Set(outside.map((s) => s.id))) add(sum.heard, id);
  if (complaints.length === 0) {
    add(sum.taken, "no complaint");
    return;
  }
  const heard = [{ recording: "case", started: "", findings }];
  const named = advise({ complaints, heard }).causes.map((cause) => cause.id);
  const right = new Set<string>(trueCauses(fault, one.severity, one.seed));
  if (right.has(named[0] ?? "")) sum.first += 1;
  else add(sum.taken, named[0] ?? "none of these");
  if (named.slice(0, 3).some((id) => right.has(id))) sum.three += 1;
}
