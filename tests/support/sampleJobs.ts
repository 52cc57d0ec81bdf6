/**
 * Jobs of invented vehicles (bench vehicle) as a person would leave them, without a disk: a no-start that a relay swap
 * proves, a bank that runs lean from a leak, and a battery where nothing was done yet.
 */
import { createHash } from "node:crypto";
import type { BenchFault } from "../../shared/address.ts";
import { protocols } from "../../shared/protocols.ts";
import { foldSurvey } from "../../shared/survey.ts";
import { isoWithZoneOf } from "../../shared/times.ts";
import { advise } from "../../src/interpret/causes/advice.ts";
import { beforeAndAfter, type Side } from "../../src/interpret/causes/beforeAfter.ts";
import type { LogEntry } from "../../src/interpret/causes/results.ts";
import type { Complaint } from "../../src/interpret/causes/types.ts";
import { interpret, type Findings } from "../../src/interpret/index.ts";
import type { Reading } from "../../src/reading/index.ts";
import { applyChanges, type Change } from "../../src/sheet/change.ts";
import { sourceFrom, type Sources } from "../../src/sheet/tied.ts";
import { newJob, type JobDocument, type Tie } from "../../src/sheet/job.ts";
import {
  clipOfCranks,
  clipOfSign,
  modulesOf,
  putting,
  puttingClip,
  puttingStatement,
} from "../../src/sheet/put.ts";
import { benchRecording, readText } from "./benchRecording.ts";

export interface SampleJob {
  readonly name: string;
  readonly job: JobDocument;
  readonly sources: Sources;
}

interface Heard {
  readonly file: string;
  readonly started: string;
  readonly text: string;
  readonly tie: Tie;
  readonly reading: Reading;
  readonly findings: Findings;
}

async function heard(
  started: string,
  run: { vehicle: string; script: string; faults: readonly BenchFault[]; seed: number },
): Promise<Heard> {
  const text = (await benchRecording({ ...run, survey: true })).replace(
    '"started":"2024-01-01T00:00:00.000Z","from":"bench"',
    `"started":"${started}","from":"bench:${run.vehicle}"`,
  );
  const file = `${started.slice(0, 10)}-${started.slice(11, 19).replaceAll(":", "")}-${run.vehicle}.ndjson`;
  const sha256 = createHash("sha256").update(text).digest("hex");
  const tie = { file, bytes: Buffer.byteLength(text), sha256 };
  const reading = readText(text);
  return { file, started, text, tie, reading, findings: interpret(reading) };
}

/** What the page does: each act is a change of its own. */
class Desk {
  job: JobDocument;
  #next = 0;

  constructor(id: string, created: string) {
    this.job = newJob(id, created);
  }

  do(...changes: readonly ((job: JobDocument, id: string) => Change)[]): void {
    for (const make of changes) {
      this.#next += 1;
      const change = make(this.job, `i${this.#next}`);
      this.job = applyChanges(this.job, [change], "2024-03-04T16:00:00.000+01:00").job;
    }
  }

  set(path: readonly string[], after: Change["after"]): void {
    this.do(() => ({ path, after }));
  }

  /** The recording, its cranks with a clip, what is off with a clip each, and what the modules said at its end. */
  putAll({ tie, started, reading, findings }: Heard): void {
    const { from = "" } = reading.header ?? {};
    const read = new Set(reading.channels.channels);
    const end = reading.lastTime;
    this.do((job, id) => putting(job, "recordings", id, { tie, started, from, invented: true, caption: "" }));
    for (const crank of findings.cranks)
      this.do((job, id) => puttingStatement({ job, id, tie }, { kind: "crank", crank }));
    if (findings.cranks.length > 0)
      this.do((job, id) =>
        puttingClip({ job, id, tie }, { section: "cranks", ...clipOfCranks(findings.cranks, end, read) }),
      );
    for (const sign of findings.signs.filter((s) => s.verdict === "outside")) {
      const of = `s${this.#next}`;
      this.do(
        (job) => puttingStatement({ job, id: of, tie }, { kind: "sign", sign }),
        (job, id) => puttingClip({ job, id, tie }, { section: "signs", of, ...clipOfSign(sign, end, read) }),
      );
    }
    const { answers, protocol } = reading;
    const can = protocol !== null && protocols[protocol].family === "can";
    const at = isoWithZoneOf(started)(Math.max(0, ...answers.map((a) => a.t)));
    const modules = modulesOf(foldSurvey(answers, can, null));
    if (modules.length > 0)
      this.do((job, id) => puttingStatement({ job, id, tie }, { kind: "modules", modules, at }));
  }

  log(...entries: readonly LogEntry[]): void {
    for (const entry of entries) this.do((job, id) => putting(job, "log", id, { entry }));
  }

  advise(complaint: Complaint, at: string, recordings: readonly Heard[]): void {
    const entries = Object.values(this.job.log).map((item) => item.entry);
    const advice = advise({
      complaints: [complaint],
      facts: this.job.vehicle,
      heard: recordings.map(({ file, started, findings }) => ({ recording: file, started, findings })),
      log: entries,
    });
    const [last] = recordings.slice(-1);
    if (last === undefined) throw new Error("nothing was heard");
    const says = { kind: "advice", advice, at, recordings: recordings.map((r) => r.file) } as const;
    this.do((job, id) => puttingStatement({ job, id, tie: last.tie }, says));
  }

  compare(before: Heard, after: Heard): void {
    const side = ({ file, reading, findings }: Heard): Side => ({
      name: file,
      channels: reading.channels,
      findings,
    });
    const compared = beforeAndAfter(side(before), side(after));
    this.do((job, id) =>
      puttingStatement({ job, id, tie: after.tie }, { kind: "before-after", compared, before: before.tie }),
    );
  }
}

function sourcesOf(job: JobDocument, all: readonly Heard[]): Sources {
  const byFile = new Map(all.map((one) => [one.file, sourceFrom(one.reading, job.vehicle)]));
  return {
    evidence: ({ file }) => {
      const source = byFile.get(file) ?? null;
      return source === null ? { state: "missing", source } : { state: "fits", source };
    },
    photo: () => null,
  };
}

function vehicle(desk: Desk, facts: Readonly<Record<string, Change["after"]>>, customer: string): void {
  for (const [name, value] of Object.entries(facts)) desk.set(["vehicle", name], value);
  desk.set(["who", "customer"], customer);
  desk.set(["who", "mechanic"], "A. Gardener");
}

/** It turns and does not fire; another relay in its socket and it starts, the old one back and it does not. */
export async function noStartJob(): Promise<SampleJob> {
  const before = await heard("2024-03-02T09:00:00.000+01:00", {
    ...{ vehicle: "garden-van", script: "crank-only", seed: 3 },
    faults: [{ name: "relay-open", severity: 1 }],
  });
  const after = await heard("2024-03-02T10:30:00.000+01:00", {
    ...{ vehicle: "garden-van", script: "start-and-idle", faults: [], seed: 4 },
  });
  const desk = new Desk("2024-03-02-garden-van", "2024-03-02T08:50:00.000+01:00");
  vehicle(desk, { name: "Garden van", year: 2009, odometerKm: 187_400, cylinders: 6 }, "The market garden");
  desk.set(
    ["texts", "complaint"],
    "It turns over well and does not start. Since this morning; yesterday it ran.",
  );
  desk.putAll(before);
  const at = (time: string): string => `2024-03-02T${time}:00.000+01:00`;
  desk.log(
    { k: "result", id: "a", at: at("09:20"), by: "Jo", check: "relay-swap", outcome: "works" },
    { k: "result", id: "b", at: at("09:35"), by: "Jo", check: "relay-back", outcome: "returns" },
    { k: "act", id: "c", at: at("10:00"), by: "Jo", cause: "relay-open", did: "changed", effect: "gone" },
  );
  desk.advise("no-start", at("10:10"), [before]);
  desk.putAll(after);
  desk.compare(before, after);
  return { name: "no-start", job: desk.job, sources: sourcesOf(desk.job, [before, after]) };
}

/** Bank 2 is lean at idle; sealed over from outside the trims come back, open again they climb. */
export async function leanBankJob(): Promise<SampleJob> {
  const before = await heard("2024-03-02T11:00:00.000+01:00", {
    ...{ vehicle: "garden-van", script: "hold-2500", seed: 5 },
    faults: [{ name: "unmetered-air-bank", severity: 1 }],
  });
  const after = await heard("2024-03-04T15:00:00.000+01:00", {
    ...{ vehicle: "garden-van", script: "hold-2500", faults: [], seed: 6 },
  });
  const desk = new Desk("2024-03-02-garden-van-2", "2024-03-02T10:50:00.000+01:00");
  const facts = { name: "Garden van", vin: "1M8GDM9AXKP042788", year: 2009, cylinders: 6, banks: 2 };
  vehicle(desk, { ...facts, odometerKm: 187_420 }, "The market garden");
  desk.set(["texts", "complaint"], "Runs lean at idle, the engine lamp is on.");
  desk.putAll(before);
  const at = (time: string, day = 2): string => `2024-03-0${day}T${time}:00.000+01:00`;
  desk.log(
    { k: "result", id: "a", at: at("11:20"), by: "Jo", check: "intake-sealed", outcome: "changes" },
    { k: "result", id: "b", at: at("11:30"), by: "Jo", check: "intake-reopened", outcome: "returns" },
    ...([
      { k: "act", id: "c", at: at("14:30", 4), cause: "air-leak-small", did: "changed", effect: "gone" },
    ] as const),
  );
  desk.advise("lean", at("14:40", 4), [before]);
  desk.putAll(after);
  desk.compare(before, after);
  desk.set(
    ["texts", "conclusion"],
    "The intake gasket of bank 2 leaked: air came in that nobody had measured. It is renewed.",
  );
  desk.set(["texts", "done"], "Intake gasket of bank 2 renewed, all its bolts drawn in the manual's order.");
  desk.set(["texts", "open"], "The battery is five years old.");
  desk.set(["front", "back"], "After 500 km, to look at the trims again; no charge.");
  return { name: "lean-bank", job: desk.job, sources: sourcesOf(desk.job, [before, after]) };
}

/** One recording, a likely cause, and nothing done. */
export async function openJob(): Promise<SampleJob> {
  const before = await heard("2024-11-20T07:10:00.000+01:00", {
    ...{ vehicle: "hay-truck", script: "crank-only", seed: 7 },
    faults: [{ name: "weak-battery", severity: 0.8 }],
  });
  const desk = new Desk("2024-11-20-hay-truck", "2024-11-20T07:00:00.000+01:00");
  vehicle(desk, { name: "Hay truck", cylinders: 8 }, "");
  desk.set(["texts", "complaint"], "Cranks slowly and does not start.");
  desk.putAll(before);
  desk.advise("no-start", "2024-11-20T07:30:00.000+01:00", [before]);
  return { name: "open", job: desk.job, sources: sourcesOf(desk.job, [before]) };
}

export async function sampleJobs(): Promise<SampleJob[]> {
  return [await noStartJob(), await leanBankJob(), await openJob()];
}
