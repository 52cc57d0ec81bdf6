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
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { brokenOf, casesOf, namesOf, type Case } from "./cases.ts";
import { drive, feltRough, heardSlow, suitedScript, toldOf } from "./driver.ts";
import { expected } from "./expect.ts";
import { featuresOf } from "./features.ts";
import { candidates } from "./groups.ts";
import { hear } from "./one.ts";
import { proveOptions, setOf, usage, type ProveOptions } from "./options.ts";
import { Progress } from "./progress.ts";
import { report } from "./report.ts";
import { ShopVehicle } from "./shopBench.ts";
import { trueCauses } from "./shopTruth.ts";
import {
  addTally,
  emptyTally,
  readTally,
  type CaseSeen,
  type Named,
  type Tally,
  type View,
} from "./tally.ts";

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
    const all = emptyTally(setOf(options));
    for (const one of cases) {
      addTally(all, { set: all.set, cases: [await seen(one, { folder, keep: options.keep })] });
      progress.done();
    }
    return all;
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

/** Makes the recording of one case and tells what was seen of it. */
async function seen(
  asked: Case,
  { folder, keep }: { readonly folder: string; readonly keep: string | null },
): Promise<CaseSeen> {
  const driven =
    asked.fault === null ? null : drive(new ShopVehicle(asked.vehicle, brokenOf(asked), asked.seed));
  const script = asked.script === "suits" && driven !== null ? suitedScript(asked, driven) : asked.script;
  const one: Case = { ...asked, script };
  const heard = await hear(one, folder, keep);
  const { findings, reading } = heard.whole;
  const facts = reading.facts.vehicle ?? {};
  const shown = complaintsOf(findings);
  const bare = heard.withoutCodes.findings;
  const shownBare = complaintsOf(bare);
  const driver =
    driven === null ? null : { rough: feltRough(one, driven), slow: heardSlow(one), ...heard.seen };
  const said = (seen: readonly Complaint[]): readonly Complaint[] =>
    driven === null || driver === null ? seen : toldOf(driven, { ...driver, shown: seen });
  const told = said(shown);
  const toldBare = said(shownBare);
  const outside = findings.signs.filter((s) => s.verdict === "outside");
  return {
    ...one,
    differs: heard.differs,
    truth: one.fault === null ? [] : [...trueCauses(one.fault, one.severity)],
    lead: one.fault === null ? "none" : firmest(findings.signs, one.fault),
    outside: [...new Set(outside.map((s) => s.id))],
    codes: [...new Set(findings.codes.map((c) => c.code))].sort(),
    named: {
      "told, codes": namedBy({ complaints: told, findings, facts }),
      told: namedBy({ complaints: toldBare, findings: bare, facts }),
      codes: namedBy({ complaints: shown, findings, facts }),
      neither: namedBy({ complaints: shownBare, findings: bare, facts }),
    } satisfies Record<View, Named>,
    // Healthy ones teach nothing of what is broken.
    features: one.fault === null ? {} : featuresOf(heard.withoutCodes.reading, bare),
  };
}

function firmest(signs: readonly Sign[], fault: string): CaseSeen["lead"] {
  const ids = namesOf(fault).flatMap((name) => expected[name]?.signs ?? []);
  const leads = signs.filter((s) => ids.some((id) => (id.endsWith(".") ? s.id.startsWith(id) : s.id === id)));
  const verdicts = ["outside", "near", "cannot-tell"] as const;
  return verdicts.find((v) => leads.some((s) => s.verdict === v)) ?? "none";
}

interface Told {
  readonly complaints: readonly Complaint[];
  readonly findings: Findings;
  readonly facts: VehicleFacts;
}

function namedBy({ complaints, findings, facts }: Told): Named {
  const heard = [{ recording: "case", started: "", findings }];
  const causes = advise({ complaints, heard, facts }, { steady: false }).causes.map((cause) => cause.id);
  return {
    complaints: [...complaints],
    causes: causes.slice(0, 6),
    could: candidates(complaints, facts).length,
  };
}
