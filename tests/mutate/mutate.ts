/**
 * `npm run mutate -- [ROOMS] [--sample N] [--seed S] [--jobs N]`: small faults are put into the pure rooms one by one, and
 * the room's own tests are to notice. Where a room has more places than the sample, they are drawn by the seed. Prints what
 * was noticed by room with the interval (Wilson, 95 %), and writes the survivors to `dist/mutate/`. Not part of `npm test`.
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { createInstrumenter } from "@stryker-mutator/instrumenter";
import { createInjector } from "typed-inject";
import { z } from "zod/mini";

const root = join(import.meta.dirname, "../..");
/** Rooms, and the tests that answer for them. */
const rooms: Readonly<Record<string, readonly string[]>> = {
  "src/interpret": ["interpret", "causes"],
  // What is framed quickly is held against the slow way where recordings are read.
  "adapters/framing": ["framing", "reading"],
  "adapters/dialogue": ["dialogue"],
  "adapters/polling": ["polling"],
  "src/recorder": ["recorder"],
  "src/reading": ["reading"],
  "src/sheet": ["sheet"],
  shared: ["shared"],
};
/** Tables have checks of their own: a changed number there is no fault of the logic. */
const isTable = (path: string): boolean =>
  /\/tables\/|[pP]arameter(?:s|Rows)\.ts$|ranges\.ts$|\.d\.ts$/.test(path);

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    sample: { type: "string", default: "300" },
    seed: { type: "string", default: "1" },
    jobs: { type: "string", default: "1" },
    only: { type: "string", default: "" },
  },
});
const wanted = positionals.length === 0 ? Object.keys(rooms) : positionals;
const unknown = wanted.find((room) => !(room in rooms));
if (unknown !== undefined) {
  console.error(`no such room: ${unknown}; there are ${Object.keys(rooms).join(", ")}`);
  process.exit(2);
}

function sources(room: string): string[] {
  return readdirSync(join(root, room), { recursive: true, encoding: "utf8" })
    .map((name) => `${room}/${name.replaceAll("\\", "/")}`)
    .filter((path) => path.endsWith(".ts") && !isTable(path) && path.includes(values.only))
    .sort();
}

const silent = (): void => undefined;
const logger = {
  isInfoEnabled: () => false,
  isWarnEnabled: () => false,
  isErrorEnabled: () => false,
  isFatalEnabled: () => false,
  fatal: (): void => undefined,
  ...{ isTraceEnabled: () => false, isDebugEnabled: () => false },
  ...{ trace: silent, debug: silent, info: silent, warn: silent, error: silent },
};

interface Place {
  readonly line: number;
  readonly column: number;
}

/** Lines and columns from 0. */
interface Fault {
  readonly name: string;
  readonly location: { readonly start: Place; readonly end: Place };
  readonly mutatorName: string;
  readonly replacement: string;
}

/** Every fault that can be put into a room. */
async function faultsOf(room: string): Promise<Fault[]> {
  const instrumenter = createInjector()
    .provideValue("logger", logger)
    .provideValue("options", {} as never)
    .provideValue("getLogger", () => logger)
    .injectFunction(createInstrumenter);
  const found: Fault[] = [];
  for (const name of sources(room)) {
    const content = readFileSync(join(root, name), "utf8");
    const { mutants } = await instrumenter.instrument([{ name, content, mutate: true }], {
      ...{ plugins: null, excludedMutations: [], ignorers: [], noHeader: false },
    });
    for (const { location, mutatorName, replacement } of mutants)
      found.push({ name, location, mutatorName, replacement });
  }
  return found;
}

/** Mulberry32 (Tommy Ettinger, public domain; from memory): numbers from 0 up to 1 that follow from a seed. */
function chance(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

function drawn(all: readonly Fault[], count: number, seed: number): Fault[] {
  const next = chance(seed);
  const left = [...all];
  const picked: Fault[] = [];
  while (picked.length < count && left.length > 0)
    picked.push(...left.splice(Math.floor(next() * left.length), 1));
  return picked;
}

/** Wilson's interval at 95 %, in percent (E. B. Wilson, 1927; from memory). */
function interval(hits: number, count: number): number[] {
  const z = 1.96;
  const p = hits / count;
  const middle = (p + (z * z) / (2 * count)) / (1 + (z * z) / count);
  const half = (z / (1 + (z * z) / count)) * Math.sqrt((p * (1 - p)) / count + (z * z) / (4 * count * count));
  return [middle - half, middle + half].map((x) => Math.round(x * 1000) / 10);
}

const keyOf = ({ name, location: { start, end }, replacement }: Omit<Fault, "mutatorName">): string =>
  `${name}:${start.line}:${start.column}-${end.line}:${end.column} ${replacement}`;

interface Judged {
  readonly killed: number;
  readonly count: number;
  readonly left: number;
}

const place = z.object({ line: z.number(), column: z.number() });
const reportSchema = z.object({
  files: z.record(
    z.string(),
    z.object({
      mutants: z.array(
        z.object({
          ...{ location: z.object({ start: place, end: place }), status: z.string() },
          replacement: z.optional(z.string()),
        }),
      ),
    }),
  ),
});

async function run(room: string): Promise<Judged & { readonly places: number }> {
  const out = join(root, "dist/mutate", room.replaceAll("/", "-"));
  mkdirSync(out, { recursive: true });
  const all = await faultsOf(room);
  const sample = drawn(all, Number(values.sample), Number(values.seed));
  // Places in a range of the tool's begin with line 1 and column 0.
  const ranges = sample.map(
    ({ name, location: { start, end } }) =>
      `${name}:${start.line + 1}:${start.column}-${end.line + 1}:${end.column}`,
  );
  const config = join(out, "stryker.json");
  const report = join(out, "report.json");
  writeFileSync(
    config,
    JSON.stringify({
      ...{ testRunner: "vitest", plugins: ["@stryker-mutator/vitest-runner"], coverageAnalysis: "perTest" },
      vitest: { configFile: "tests/mutate/vitest.config.js", related: false },
      ...{ mutate: [...new Set(ranges)], concurrency: Number(values.jobs), reporters: ["json"] },
      ...{ jsonReporter: { fileName: report }, tempDirName: "dist/mutate/sandbox", symlinkNodeModules: true },
      ...{ incremental: true, incrementalFile: join(out, "incremental.json"), timeoutMS: 30_000 },
      // The first run of all tests: a busy machine takes longer than the five minutes that the tool gives it.
      dryRunTimeoutMinutes: 120,
      ...{ ignorePatterns: ["dist", "coverage"], checkers: [], logLevel: "warn", allowEmpty: true },
    }),
  );
  const tests = (rooms[room] ?? []).map((folder) => `tests/${folder}/**/*.test.ts`).join(" ");
  const tool = join(root, "node_modules/@stryker-mutator/core/bin/stryker.js");
  const { status } = spawnSync(process.execPath, [tool, "run", config], {
    ...{ cwd: root, stdio: ["ignore", "inherit", "inherit"] },
    env: { ...process.env, CRANKSIDE_MUTATE: tests },
  });
  if (status !== 0) throw new Error(`${room}: the tool ended with ${status}`);
  return { places: all.length, ...judged(readFileSync(report, "utf8"), sample, out) };
}

/** Only what was drawn counts: a range holds the faults within it, too. */
function judged(report: string, sample: readonly Fault[], out: string): Judged {
  const { files } = reportSchema.parse(JSON.parse(report));
  const met = new Map<string, string>();
  for (const [name, { mutants }] of Object.entries(files))
    for (const { location, replacement = "", status } of mutants) {
      const from1 = ({ line, column }: Place): Place => ({ line: line - 1, column: column - 1 });
      const at = { start: from1(location.start), end: from1(location.end) };
      met.set(keyOf({ name, location: at, replacement }), status);
    }
  const told = sample.map((fault) => ({ ...fault, status: met.get(keyOf(fault)) ?? "NotRun" }));
  const count = (...states: string[]): number => told.filter(({ status }) => states.includes(status)).length;
  const killed = count("Killed", "Timeout");
  const judgedCount = killed + count("Survived", "NoCoverage");
  const survivors = told.filter(({ status }) => status === "Survived" || status === "NoCoverage");
  const lines = survivors.map(
    ({ name, location, mutatorName, replacement, status }) =>
      `${name}:${location.start.line + 1}:${location.start.column + 1} ${mutatorName} -> ${JSON.stringify(replacement)} (${status})`,
  );
  writeFileSync(join(out, "survivors.txt"), `${lines.sort().join("\n")}\n`);
  return { killed, count: judgedCount, left: told.length - judgedCount };
}

export async function main(): Promise<number> {
  for (const room of wanted) {
    const { places, killed, count, left } = await run(room);
    const [low = 0, high = 100] = count === 0 ? [0, 100] : interval(killed, count);
    console.log(
      `${room}: ${killed} of ${count} noticed (${((100 * killed) / Math.max(1, count)).toFixed(1)} %, 95 % interval ${low} to ${high}), drawn of ${places} by seed ${values.seed}; ${left} could not be judged`,
    );
  }
  return 0;
}
