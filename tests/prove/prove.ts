/**
 * The proving set: what the interpreter finds in recordings of the bench vehicle, healthy and broken. Printed as it
 * is; nothing here is asserted.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { advise } from "../../src/interpret/causes/advice.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { Findings, Sign } from "../../src/interpret/index.ts";
import { allFaults, allVehicles, casesOf, type Case } from "./cases.ts";
import { expected } from "./expect.ts";
import { findingsOf } from "./one.ts";
import { trueCauses } from "./shopTruth.ts";

const usage = `npm run prove -- [--seeds 1..3] [--severity 0.6,1] [--vehicles a,b] [--faults a,b] [--script hold-2500]
  Makes recordings over vehicles x faults x severities x seeds, a third of them healthy, reads each back from its file,
  and prints false alarms, what was found, and what was taken for what.
`;

interface Tally {
  runs: number;
  found: number;
  near: number;
  /** Neither, and a sign that leads there says that it cannot tell, and what it would take. */
  untold: number;
  /** The right cause stood first, or among the first three. */
  first: number;
  three: number;
  /** What stood first instead. */
  readonly taken: Map<string, number>;
  readonly heard: Map<string, number>;
}

export async function prove(args: readonly string[]): Promise<number> {
  const { values } = parseArgs({
    args: [...args],
    options: {
      seeds: { type: "string", default: "1..3" },
      severity: { type: "string", default: "0.6,1" },
      vehicles: { type: "string", default: allVehicles.join(",") },
      faults: { type: "string", default: allFaults.join(",") },
      script: { type: "string", default: "hold-2500" },
      help: { type: "boolean", default: false },
    },
  });
  if (values.help) {
    process.stdout.write(usage);
    return 0;
  }
  const [from = 1, to = from] = values.seeds.split("..").map(Number);
  const cases = casesOf({
    seeds: [from, to],
    severities: values.severity.split(",").map(Number),
    vehicles: values.vehicles.split(","),
    faults: values.faults.split(","),
    script: values.script,
  });
  const folder = mkdtempSync(join(tmpdir(), "crankside-prove-"));
  try {
    await run(cases, folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return 0;
}

async function run(cases: readonly Case[], folder: string): Promise<void> {
  const tallies = new Map<string, Tally>();
  const alarms = new Map<string, number>();
  let healthy = 0;
  let alarmed = 0;
  let done = 0;
  for (const one of cases) {
    const findings = await findingsOf(one, folder);
    done += 1;
    if (process.stderr.isTTY) process.stderr.write(`\r${done} of ${cases.length}`);
    if (one.fault === null) {
      healthy += 1;
      const outside = findings.signs.filter((s) => s.verdict === "outside");
      if (outside.length > 0) alarmed += 1;
      for (const sign of outside) add(alarms, `${sign.id} (${one.vehicle}, ${one.script})`);
    } else count(tallies, { ...one, fault: one.fault }, findings);
  }
  if (process.stderr.isTTY) process.stderr.write("\n");
  const print = (text: string): void => void process.stdout.write(`${text}\n`);
  print(`${cases.length} recordings, ${healthy} of them healthy`);
  print(`healthy with a sign outside its range: ${alarmed} of ${healthy}`);
  for (const [what, times] of alarms) print(`  ${String(times).padStart(4)}  ${what}`);
  print(
    `\n${"fault".padEnd(24)}runs found  near  open first three  outside, most often | taken for, most often`,
  );
  for (const [fault, tally] of tallies) print(row(fault, tally));
  const all = [...tallies.values()];
  const total = (of: (tally: Tally) => number): number => all.reduce((sum, tally) => sum + of(tally), 0);
  const runs = [
    total((t) => t.runs),
    total((t) => t.found),
    total((t) => t.near),
    total((t) => t.untold),
    total((t) => t.first),
    total((t) => t.three),
  ];
  print(`${"all".padEnd(24)}${runs.map((n) => String(n).padStart(5)).join(" ")}`);
  print("found: a sign that leads there is outside its range; near: it is near the edge");
  print("open: neither, and a sign that leads there cannot tell and says what it would take");
  print("first, three: the right cause stands first, or among the first three, by the recording alone");
}

function row(fault: string, tally: Tally): string {
  const most = (map: ReadonlyMap<string, number>): string =>
    [...map]
      .sort((a, b) => b[1] - a[1])
      .slice(0, 3)
      .map(([id, times]) => `${id} ${times}`)
      .join(", ");
  const figures = [tally.runs, tally.found, tally.near, tally.untold, tally.first, tally.three];
  const hidden = expected[fault]?.hidden;
  return `${fault.padEnd(24)}${figures.map((n) => String(n).padStart(5)).join(" ")}  ${most(tally.heard)} | ${most(tally.taken)}${hidden === undefined ? "" : ` (${hidden})`}`;
}

function count(tallies: Map<string, Tally>, one: Case & { fault: string }, findings: Findings): void {
  const { fault } = one;
  const tally = tallies.get(fault) ?? {
    runs: 0,
    found: 0,
    near: 0,
    untold: 0,
    first: 0,
    three: 0,
    taken: new Map<string, number>(),
    heard: new Map<string, number>(),
  };
  tallies.set(fault, tally);
  tally.runs += 1;
  const leads = (sign: Sign): boolean =>
    (expected[fault]?.signs ?? []).some((id) => (id.endsWith(".") ? sign.id.startsWith(id) : sign.id === id));
  const outside = findings.signs.filter((s) => s.verdict === "outside");
  if (outside.some(leads)) tally.found += 1;
  else if (findings.signs.some((s) => s.verdict === "near" && leads(s))) tally.near += 1;
  else if (findings.signs.some((s) => s.verdict === "cannot-tell" && leads(s))) tally.untold += 1;
  for (const id of new Set(outside.map((s) => s.id))) add(tally.heard, id);
  const complaints = complaintsOf(findings);
  if (complaints.length === 0) {
    add(tally.taken, "no complaint");
    return;
  }
  const heard = [{ recording: "case", started: "", findings }];
  const named = advise({ complaints, heard }).causes.map((cause) => cause.id);
  const right = new Set<string>(trueCauses(fault, one.severity, one.seed));
  if (right.has(named[0] ?? "")) tally.first += 1;
  else add(tally.taken, named[0] ?? "none of these");
  if (named.slice(0, 3).some((id) => right.has(id))) tally.three += 1;
}

function add(map: Map<string, number>, key: string): void {
  map.set(key, (map.get(key) ?? 0) + 1);
}
