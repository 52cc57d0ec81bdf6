/** The command line of the proving set. */
import { availableParallelism } from "node:os";
import { parseArgs } from "node:util";
import { benchScripts } from "../../adapters/bench/index.ts";
import { allFaults, allVehicles, pairs, type CaseOptions } from "./cases.ts";

export const usage = `npm run prove -- [--seeds 1..3] [--severity 0.6,1] [--vehicles a,b] [--faults a,b+c] [--script NAME]
               [--jobs N] [--shard I/N] [--out FILE.json] [--keep FOLDER]
  Makes recordings over vehicles x faults x seeds, a third of them healthy, reads each back from its file, and prints
  false alarms, what was found, and what was taken for what: with and without codes, with what the driver would say and
  without, by cause and by group, beside blind choice and beside a classifier that was shown the other seeds.
  --severity     from 0 to 1; drawn for each vehicle and hidden when not said
  --faults       two at once are joined by a plus sign
  --script       what the person at the key does; by what the vehicle does when not said
  --jobs N       so many processes at once; as many as there are processors when not said
  --shard I/N    only the I-th of N parts of the set
  --out FILE     keep the counts, to be added to others
  --keep FOLDER  keep the runs of sound vehicles, that the broken ones are held against, for the next part of the set;
                 to be thrown away when the bench vehicle changes
npm run prove -- --data FOLDER
  what is said of recordings of real vehicles; with --help its options
npm run prove -- --sum FILE...
  adds several parts of one set and prints them
`;

export interface ProveOptions extends CaseOptions {
  readonly jobs: number;
  /** Which part of how many, from 1. */
  readonly shard: readonly [part: number, parts: number];
  readonly out: string | null;
  readonly keep: string | null;
  /** Files to be added up instead of running anything. */
  readonly sum: readonly string[] | null;
  readonly help: boolean;
  /** One of several processes that work on a set: it tells its parent of each case, and prints nothing. */
  readonly part: boolean;
}

function oneOf(what: string, text: string, known: readonly string[]): string[] {
  const names = text.split(",");
  for (const name of names) {
    if (!known.includes(name)) throw new Error(`no such ${what}: ${name}; there are ${known.join(", ")}`);
  }
  return names;
}

function whole(what: string, text: string): number {
  if (!/^\d+$/.test(text)) throw new Error(`${what}: expected a whole number, found ${text}`);
  return Number(text);
}

export function proveOptions(args: readonly string[]): ProveOptions {
  const { values, positionals } = parseArgs({
    args: [...args],
    allowPositionals: true,
    options: {
      seeds: { type: "string", default: "1..4" },
      severity: { type: "string" },
      vehicles: { type: "string", default: allVehicles.join(",") },
      faults: { type: "string", default: [...allFaults, ...pairs].join(",") },
      script: { type: "string", default: "suits" },
      jobs: { type: "string", default: String(availableParallelism()) },
      shard: { type: "string", default: "1/1" },
      out: { type: "string" },
      keep: { type: "string" },
      sum: { type: "boolean", default: false },
      help: { type: "boolean", default: false },
      part: { type: "boolean", default: false },
    },
  });
  const [first = "", last = first] = values.seeds.split("..");
  const seeds = [whole("--seeds", first), whole("--seeds", last)] as const;
  if (seeds[1] < seeds[0]) throw new Error(`--seeds: ${values.seeds} is empty`);
  const severities = values.severity === undefined ? "hidden" : values.severity.split(",").map(Number);
  if (severities !== "hidden" && !severities.every((s) => s > 0 && s <= 1)) {
    throw new Error(`--severity: expected numbers above 0 and up to 1, found ${values.severity ?? ""}`);
  }
  const [part = "", parts = ""] = values.shard.split("/");
  const shard = [whole("--shard", part), whole("--shard", parts)] as const;
  if (shard[0] < 1 || shard[0] > shard[1]) throw new Error(`--shard: ${values.shard} is no part`);
  if (positionals.length > 0 !== values.sum) throw new Error(usage);
  return {
    ...{
      seeds,
      severities,
      shard,
      out: values.out ?? null,
      keep: values.keep ?? null,
      help: values.help,
      part: values.part,
    },
    vehicles: oneOf("vehicle", values.vehicles, allVehicles),
    faults: oneOf("fault", values.faults, [...allFaults, ...pairs]),
    script: oneOf("script", values.script, ["suits", ...benchScripts.map((s) => s.id)])[0] ?? "",
    jobs: Math.max(1, whole("--jobs", values.jobs)),
    sum: values.sum ? positionals : null,
  };
}

/** The set in words, the same for each part of it. */
export function setOf({ seeds, severities, vehicles, faults, script }: ProveOptions): string {
  return JSON.stringify({ seeds, severities, vehicles, faults, script });
}
