/**
 * The simulated shop: bench vehicles with one fault each, and a solver that follows the tool's next check until the
 * cause is proved or given up; beside it solvers that guess. Printed as it comes; nothing here is asserted.
 */
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { z } from "zod/mini";
import { benchVehicle, faultsOf } from "../../adapters/bench/index.ts";
import { seeded } from "../../shared/seeded.ts";
import { shaken } from "../../src/interpret/causes/model.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";
import { allFaults, allVehicles } from "./cases.ts";
import { solvers, type Outcome, type SolverName } from "./shopSolvers.ts";
import { takeIn } from "./shopVisit.ts";

const usage = `npm run prove -- --shop [--seeds 1..2] [--vehicles a,b] [--faults a,b] [--per-hour 40] [--shaken] [--trace]
               [--keep FOLDER] [--out FILE.json]
  Bench vehicles with each fault, severity and measuring error at random, repaired by five solvers: the tool's next
  check; parts by prior probability; the cheapest first; a fixed list of checks in the usual order; and one who knows.
  --shaken   every entry of the tool's tables times a factor drawn between 0.5 and 2, anew for each visit
  --trace    each step of the tool, visit by visit
  --keep     keep what is read of each vehicle, and take it from there in the next run: for work on the tables alone,
             since neither a changed bench vehicle nor a changed interpreter shows in it
  --out      keep the outcomes, to be added to others
npm run prove -- --shop --sum FILE...
  adds the outcomes of several parts and prints them
`;

interface Row {
  visits: number;
  readonly by: Map<SolverName, Outcome[]>;
}

export async function shop(args: readonly string[]): Promise<number> {
  const { values, positionals } = parseArgs({
    args: args.filter((a) => a !== "--shop"),
    allowPositionals: true,
    options: {
      out: { type: "string" },
      sum: { type: "boolean", default: false },
      seeds: { type: "string", default: "1..1" },
      vehicles: { type: "string", default: allVehicles.join(",") },
      faults: { type: "string", default: allFaults.join(",") },
      "per-hour": { type: "string", default: "40" },
      shaken: { type: "boolean", default: false },
      keep: { type: "string" },
      trace: { type: "boolean", default: false },
      help: { type: "boolean", default: false },
    },
  });
  if (values.help) {
    process.stdout.write(usage);
    return 0;
  }
  if (values.sum) {
    const { rows, unheard } = summed(positionals);
    print(rows, unheard);
    return 0;
  }
  const [from = 1, to = from] = values.seeds.split("..").map(Number);
  if (values.keep !== undefined) mkdirSync(values.keep, { recursive: true });
  const folder = mkdtempSync(join(tmpdir(), "crankside-shop-"));
  const rows = new Map<string, Row>();
  let unheard = 0;
  try {
    for (let seed = from; seed <= to; seed++) {
      for (const vehicle of values.vehicles.split(",")) {
        const can = new Set(faultsOf(benchVehicle(vehicle)).map((f) => f.id));
        for (const fault of values.faults.split(",").filter((f) => can.has(f))) {
          const random = seeded(
            seed * 1_000_003 + vehicle.length * 101 + fault.length * 7919 + fault.charCodeAt(0),
          );
          const visit = await takeIn({ vehicle, fault, seed, random, folder, kept: values.keep ?? null });
          if (visit === null) {
            unheard += 1;
            continue;
          }
          const model = values.shaken ? shaken(tablesModel(), random) : tablesModel();
          const row = rows.get(fault) ?? { visits: 0, by: new Map<SolverName, Outcome[]>() };
          rows.set(fault, row);
          row.visits += 1;
          for (const [name, solve] of Object.entries(solvers) as [
            SolverName,
            (typeof solvers)[SolverName],
          ][]) {
            const outcome = solve(visit, { model, perHour: Number(values["per-hour"]) });
            row.by.set(name, [...(row.by.get(name) ?? []), outcome]);
            if (values.trace && name === "tool") {
              process.stdout.write(
                `${fault} ${vehicle} (${visit.complaints.join(", ")}): ${outcome.steps.join("; ")}\n`,
              );
            }
          }
          if (process.stderr.isTTY) process.stderr.write(`\r${vehicle} ${fault}`.padEnd(60));
        }
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  if (values.out !== undefined) writeFileSync(values.out, JSON.stringify({ unheard, rows: kept(rows) }));
  print(rows, unheard);
  return 0;
}

const outcomeSchema = z.object({
  cost: z.number(),
  minutes: z.number(),
  checks: z.number(),
  vain: z.number(),
  wrong: z.boolean(),
  solved: z.boolean(),
  proved: z.boolean(),
  steps: z.array(z.string()),
});
const keptSchema = z.object({
  unheard: z.number(),
  rows: z.array(
    z.object({ fault: z.string(), visits: z.number(), by: z.record(z.string(), z.array(outcomeSchema)) }),
  ),
});

function kept(rows: ReadonlyMap<string, Row>): z.infer<typeof keptSchema>["rows"] {
  return [...rows].map(([fault, { visits, by }]) => ({ fault, visits, by: Object.fromEntries(by) }));
}

function summed(files: readonly string[]): { rows: Map<string, Row>; unheard: number } {
  const rows = new Map<string, Row>();
  let unheard = 0;
  for (const file of files) {
    const part = keptSchema.parse(JSON.parse(readFileSync(file, "utf8")));
    unheard += part.unheard;
    for (const { fault, visits, by } of part.rows) {
      const row = rows.get(fault) ?? { visits: 0, by: new Map<SolverName, Outcome[]>() };
      rows.set(fault, row);
      row.visits += visits;
      for (const name of Object.keys(solvers) as SolverName[])
        row.by.set(name, [...(row.by.get(name) ?? []), ...(by[name] ?? [])]);
    }
  }
  return { rows, unheard };
}

const mean = (values: readonly number[]): number =>
  values.length === 0 ? Number.NaN : values.reduce((a, b) => a + b, 0) / values.length;

function print(rows: ReadonlyMap<string, Row>, unheard: number): void {
  const names = Object.keys(solvers) as SolverName[];
  const say = (text: string): void => void process.stdout.write(`${text}\n`);
  const cell = (n: number, width: number, digits = 0): string => n.toFixed(digits).padStart(width);
  say(
    `\ncost in money, an hour counted in; min: minutes; vain: parts bought that were not it; wrong: wrong conclusions`,
  );
  const heads = names.map((n) => n.padStart(14)).join("");
  say(`${"fault".padEnd(26)}visits${heads}   tool: min checks  vain wrong unsolved`);
  const all = new Map<SolverName, Outcome[]>(names.map((n) => [n, []]));
  const line = (name: string, visits: number, by: ReadonlyMap<SolverName, Outcome[]>): void => {
    const costs = names.map((n) => cell(mean((by.get(n) ?? []).map((o) => o.cost)), 14)).join("");
    const tool = by.get("tool") ?? [];
    const figure = (of: (o: Outcome) => number): number => mean(tool.map(of));
    say(
      `${name.padEnd(26)}${String(visits).padStart(6)}${costs}   ${cell(
        figure((o) => o.minutes),
        9,
      )}${cell(
        figure((o) => o.checks),
        7,
        1,
      )}${cell(
        figure((o) => o.vain),
        6,
        2,
      )}${cell(
        figure((o) => (o.wrong ? 1 : 0)),
        6,
        2,
      )}${cell(
        figure((o) => (o.solved ? 0 : 1)),
        9,
        2,
      )}`,
    );
  };
  for (const [fault, row] of rows) {
    line(fault, row.visits, row.by);
    for (const n of names) all.get(n)?.push(...(row.by.get(n) ?? []));
  }
  const visits = all.get("tool")?.length ?? 0;
  line("all", visits, all);
  const overall = (n: SolverName): number => mean((all.get(n) ?? []).map((o) => o.cost));
  say(`\n${unheard} more vehicles showed no complaint and were not taken in.`);
  say(
    `tool against replacing by probability: ${(overall("tool") / overall("by-chance")).toFixed(2)} (wanted: under 0.5)`,
  );
  say(
    `tool against the one who knows: ${(overall("tool") / overall("knows")).toFixed(2)} (wanted: 1.6 at most)`,
  );
  const tool = all.get("tool") ?? [];
  say(`parts in vain a visit: ${mean(tool.map((o) => o.vain)).toFixed(3)} (wanted: under 0.1)`);
  say(
    `wrong conclusions: ${(100 * mean(tool.map((o) => (o.wrong ? 1 : 0)))).toFixed(1)} % (wanted: under 2 %)`,
  );
  const proved = tool.filter((o) => o.proved).length;
  say(`proved: ${proved} of ${tool.length}; given up: ${tool.filter((o) => !o.solved).length}`);
  for (const n of names.filter((n) => n !== "tool")) {
    const others = all.get(n) ?? [];
    say(
      `${n}: cost ${overall(n).toFixed(0)}, ${mean(others.map((o) => o.minutes)).toFixed(0)} minutes, ${mean(others.map((o) => o.vain)).toFixed(2)} parts in vain, wrong ${(100 * mean(others.map((o) => (o.wrong ? 1 : 0)))).toFixed(1)} %`,
    );
  }
}
