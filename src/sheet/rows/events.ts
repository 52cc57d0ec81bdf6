/**
 * What was found in a recording, and what a job says of it, as rows of one table: for whoever asks many of them at once.
 * recordings/PARQUET.md describes the columns. Pure.
 */
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import { foldLog, unclear, type Result } from "../../interpret/causes/results.ts";
import type { Crank, Findings, Sign } from "../../interpret/index.ts";
import type { Read } from "../../reading/index.ts";
import { inOrder, type JobDocument } from "../job.ts";
import { foundOf, isMended } from "../note/found.ts";

export const eventKinds = [
  ...(["fact", "sign", "crank", "code", "freeze-frame", "mark", "comparison", "gap"] as const),
  ...(["job", "tie", "result", "act", "outcome"] as const),
] as const;
export type EventKind = (typeof eventKinds)[number];

export interface EventRow {
  readonly kind: EventKind;
  /** Id of what the row is about: a sign, a figure of a crank, a code, a channel, a check, a cause. */
  readonly of: string | null;
  /** Which of several: the crank. */
  readonly n: number | null;
  /** Milliseconds since the start of the recording; null in rows of a job. */
  readonly t: number | null;
  readonly until: number | null;
  /** Wall time, ISO 8601 with zone, where it does not follow from `t`. */
  readonly at: string | null;
  readonly verdict: string | null;
  readonly side: string | null;
  readonly module: string | null;
  readonly bank: number | null;
  readonly cylinder: number | null;
  readonly value: number | null;
  readonly unit: string | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly samples: number | null;
  readonly words: string | null;
  /** File of the recording, in a row of a job that ties one. */
  readonly recording: string | null;
}

const empty = {
  ...{ of: null, n: null, t: null, until: null, at: null, verdict: null, side: null, module: null },
  ...{ bank: null, cylinder: null, value: null, unit: null, low: null, high: null, samples: null },
  ...{ words: null, recording: null },
} as const;

const row = (kind: EventKind, parts: Partial<EventRow>): EventRow => ({ ...empty, ...parts, kind });

/** A number that a table may hold, or null. */
const finite = (value: number | null | undefined): number | null =>
  value !== null && value !== undefined && Number.isFinite(value) ? value : null;

/** What was said and found in a recording, read by these facts. */
export function recordingEvents(
  reading: Read,
  findings: Findings,
  facts: { readonly complaint?: string | undefined; readonly vehicle: VehicleFacts },
): EventRow[] {
  return [
    ...factRows(reading, facts),
    ...findings.cranks.flatMap(crankRows),
    ...findings.signs.map(signRow),
    ...findings.codes.map(({ code, module, kind, t }) => row("code", { of: code, module, verdict: kind, t })),
    ...(findings.freezeFrame?.values ?? []).map(({ channel, value, unit }) =>
      row("freeze-frame", {
        ...{ of: channel, module: findings.freezeFrame?.module ?? null, value: finite(value), unit },
        verdict: findings.freezeFrame?.code ?? null,
      }),
    ),
    ...reading.marks.map(({ id, at, until, label }) =>
      row("mark", { of: id, t: at, until: until ?? null, words: label }),
    ),
    ...findings.comparisons.map((c) =>
      row("comparison", {
        ...{ of: c.channel, t: c.during.from, until: c.during.to, verdict: c.says, unit: c.unit },
        ...{ value: finite(c.difference), low: finite(c.interval.low), high: finite(c.interval.high) },
        ...{ samples: c.mean.samples, words: c.words },
      }),
    ),
    ...reading.gaps.map(({ from, to, why }) => row("gap", { t: from, until: to, words: why })),
  ];
}

function factRows(
  reading: Read,
  { complaint, vehicle }: { readonly complaint?: string | undefined; readonly vehicle: VehicleFacts },
): EventRow[] {
  const known: [string, unknown][] = [
    ["started", reading.header?.started],
    ["length", reading.lastTime / 1000],
    ["from", reading.header?.from],
    ["invented", reading.invented],
    ["protocol", reading.protocol],
    ["complaint", complaint],
    ...Object.entries(vehicle),
  ];
  return known.flatMap(([of, value]): EventRow[] => {
    if (typeof value === "number") return [row("fact", { of, value: finite(value), unit: unitOf(of) })];
    if (typeof value === "boolean") return [row("fact", { of, value: value ? 1 : 0, words: String(value) })];
    return typeof value === "string" && value !== "" ? [row("fact", { of, words: value })] : [];
  });
}

const factUnits: Readonly<Record<string, string>> = {
  ...{ length: "s", displacementL: "L", supplyVolts: "V", altitudeM: "m", idleRpm: "rpm", odometerKm: "km" },
};
const unitOf = (fact: string): string | null => factUnits[fact] ?? null;

/** Figures of a crank: the name in the table, where it stands, and its unit. */
const crankFigures = [
  ["rest-volts", "restVolts", "V"],
  ["lowest-volts", "lowestVolts", "V"],
  ["mean-volts", "meanVolts", "V"],
  ["stalled-volts", "stalledVolts", "V"],
  ["speed", "speed", "rpm"],
  ["speed-spread", "speedSpread", "rpm"],
  ["speed-per-volt", "speedPerVolt", "rpm/V"],
  ["drop-outs", "dropOuts", "count"],
  ["first-speed", "firstSpeedS", "s"],
  ["pull-down", "pullDown", "kPa"],
  ["throttle", "throttle", "%"],
  ["coolant", "coolant", "degC"],
  ["intake-air", "intakeAir", "degC"],
  ["fire", "fireS", "s"],
] as const;

/** A row each figure; the length is always there, so that cranks can be counted by it. */
function crankRows(crank: Crank): EventRow[] {
  const common = { n: crank.number, t: crank.from, until: crank.to, verdict: crank.outcome };
  const figures = crankFigures.flatMap(([of, name, unit]) => {
    const figure = crank[name];
    if (figure === null || figure === undefined || !Number.isFinite(figure.value)) return [];
    return [row("crank", { ...common, of, value: figure.value, unit, samples: figure.samples })];
  });
  const ran = finite(crank.ranS);
  return [
    row("crank", { ...common, of: "length", value: crank.lengthS, unit: "s" }),
    ...figures,
    ...(ran === null ? [] : [row("crank", { ...common, of: "ran", value: ran, unit: "s" })]),
  ];
}

function signRow(sign: Sign): EventRow {
  const { measured, range, windows } = sign;
  return row("sign", {
    ...{ of: sign.id, verdict: sign.verdict, side: sign.side ?? null },
    t: windows.length === 0 ? null : Math.min(...windows.map((w) => w.from)),
    until: windows.length === 0 ? null : Math.max(...windows.map((w) => w.to)),
    ...{ bank: sign.bank ?? null, cylinder: sign.cylinder ?? null },
    ...{ value: finite(measured?.value), unit: measured?.unit ?? null, samples: measured?.samples ?? null },
    ...{ low: finite(range?.low), high: finite(range?.high) },
    words: `${sign.title}: ${sign.meaning}`,
  });
}

/** What a job says: the visit, its recordings, what was tried by hand, and how it ended. */
export function jobEvents(job: JobDocument): EventRow[] {
  const { results, acts } = foldLog(
    inOrder(job.log).map((item) => item.entry),
    job.vehicle,
  );
  return [
    row("job", {
      ...{ of: job.id, at: job.created, verdict: isMended(job) ? "mended" : "open" },
      words: job.texts.complaint ?? null,
    }),
    ...inOrder(job.recordings).map(({ tie, started, caption }) =>
      row("tie", { recording: tie.file, at: started, words: caption === "" ? null : caption }),
    ),
    ...results.map(resultRow),
    ...inOrder(job.checks).map((check) =>
      row("result", {
        ...{ of: check.check ?? check.name, at: check.at },
        verdict: check.withdrawn === undefined ? (check.outcome ?? unclear) : "withdrawn",
        ...{ value: finite(check.reading?.value), unit: check.reading?.unit ?? null },
        words: [check.name, check.seen].filter((text) => text !== "").join(": "),
      }),
    ),
    ...acts.map(({ cause, at, did, effect, withdrawn, words }) =>
      row("act", {
        of: cause,
        at,
        verdict: withdrawn ? "withdrawn" : `${did}, ${effect}`,
        words: words ?? null,
      }),
    ),
    ...outcomeRows(job),
  ];
}

function resultRow({ check, at, state, outcome, figure, latest }: Result): EventRow {
  return row("result", {
    ...{ of: check, at, verdict: outcome ?? state },
    ...{ value: finite(figure?.value), unit: figure?.unit ?? null },
    ...{ cylinder: latest.cylinder ?? null, words: latest.words ?? null },
  });
}

/** Causes as the person set them, and the one that the whole of the sheet comes to. */
function outcomeRows(job: JobDocument): EventRow[] {
  const told = inOrder(job.causes).map(({ cause, name, standing, proof }) =>
    row("outcome", { of: cause ?? name, at: job.changed, verdict: standing, words: sentence(name, proof) }),
  );
  const found = foundOf(job);
  if (found === null || told.some((one) => one.of === (found.cause ?? found.name))) return told;
  const { cause, name, standing, proof } = found;
  return [
    ...told,
    row("outcome", { of: cause ?? name, at: job.changed, verdict: standing, words: sentence(name, proof) }),
  ];
}

const sentence = (name: string, proof: string): string => (proof === "" ? name : `${name}: ${proof}`);
