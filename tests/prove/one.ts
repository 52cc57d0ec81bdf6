/** One case: a recording is made, and read back from its file by the interpreter as any other. */
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { runScript } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/index.ts";
import type { ReaderSink } from "../../shared/recording/reader.ts";
import { lastQuestions, record } from "../../src/cli/record.ts";
import { interpret, type Findings } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { brokenOf, type Case } from "./cases.ts";
import { differs, truthFrom, truthText, watch, type Truth } from "./truth.ts";

const epoch = Date.UTC(2026, 0, 5, 8);

/** Makes the recording; what the modules really held while the script ran is given back, and is not in it. */
export async function makeRecording(one: Case, out: string): Promise<Truth> {
  const clock = new VirtualClock(epoch, 64);
  const run = async (): Promise<Truth> => {
    const recorder = await record({
      address: { kind: "bench", vehicle: one.vehicle, faults: brokenOf(one) },
      out,
      clock,
      channels: [],
      seed: one.seed,
      survey: true,
      onDoing: () => undefined,
    });
    try {
      recorder.start();
      const { bench } = recorder;
      if (bench === null) throw new Error("no bench vehicle");
      const watching = watch(bench, clock);
      await runScript(bench, one.script, clock);
      const truth = watching.end();
      await lastQuestions(recorder, clock);
      return truth;
    } finally {
      await recorder.close();
    }
  };
  const done = run();
  await clock.run(done);
  return done;
}

/** What is asked once of each module and not polled: codes, freeze frame, tests, identity. */
const surveyed = /^(02|03|05|06|07|09|0A|0101|0141)/;

function withoutCodes(sink: ReaderSink): ReaderSink {
  return {
    ...sink,
    header: (header) => sink.header(header),
    notice: (notice) => sink.notice(notice),
    event: (event, line) => {
      if (event.k !== "x" || !surveyed.test(event.ask)) sink.event(event, line);
    },
    // Every exchange has to be looked at.
    scanned: () => false,
    unknown: (event, line) => sink.unknown?.(event, line),
  };
}

export interface ReadBack {
  readonly reading: Reading;
  readonly findings: Findings;
}

/** Through the public reading of a recording file only. `codes` false: as if nobody had asked the modules. */
export async function readWhole(path: string, { codes = true } = {}): Promise<ReadBack> {
  const reading = new Reading(path);
  await readRecording(path, codes ? reading.sink : withoutCodes(reading.sink));
  return { reading, findings: interpret(reading) };
}

export async function readBack(path: string): Promise<Findings> {
  return (await readWhole(path)).findings;
}

/** Sound runs of a vehicle under a script: as many as are needed to know how much it varies by itself. */
const twins = 10;
const sound = new Map<string, Truth[]>();

async function soundRuns(one: Case, { out, keep }: Places): Promise<readonly Truth[]> {
  const key = `${one.vehicle}-${one.script}`;
  const known = sound.get(key);
  if (known !== undefined) return known;
  const runs: Truth[] = [];
  for (let i = 0; i < twins; i++) {
    const kept = keep === null ? null : join(keep, `${key}-${i}.json`);
    if (kept !== null && existsSync(kept)) {
      runs.push(truthFrom(readFileSync(kept, "utf8")));
      continue;
    }
    const run = await makeRecording({ ...one, fault: null, severity: 0, seed: 900_001 + i }, out);
    rmSync(out);
    runs.push(run);
    if (kept === null) continue;
    mkdirSync(keep ?? "", { recursive: true });
    writeFileSync(kept, truthText(run));
  }
  sound.set(key, runs);
  return runs;
}

/** `keep`: where runs of sound vehicles are kept for the next part of the set; null: nowhere. */
interface Places {
  readonly out: string;
  readonly keep: string | null;
}

export interface Heard {
  /** What the modules held differs from the sound engine by more than chance and measuring do. */
  readonly differs: boolean;
  /** What the driver saw meanwhile. */
  readonly seen: Pick<Truth, "lamp" | "died" | "uncharged">;
  readonly whole: ReadBack;
  readonly withoutCodes: ReadBack;
}

export async function hear(one: Case, folder: string, keep: string | null = null): Promise<Heard> {
  const out = join(folder, `case-${process.pid}.ndjson`);
  try {
    const truth = await makeRecording(one, out);
    return {
      differs: differs(truth, await soundRuns(one, { out: `${out}.sound`, keep })),
      seen: truth,
      whole: await readWhole(out),
      withoutCodes: await readWhole(out, { codes: false }),
    };
  } finally {
    rmSync(out, { force: true });
  }
}
