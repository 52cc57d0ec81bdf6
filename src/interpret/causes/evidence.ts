import type { OwnCases } from "./own.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { Findings, Sign } from "../report/schema.ts";
import { awayAt } from "./away.ts";
import type { Observed } from "./belief.ts";
import { markedResults } from "./marked.ts";
import {
  actOf,
  changedQuestion,
  checkQuestion,
  codeQuestion,
  reversedQuestion,
  seenQuestion,
  signQuestion,
  type Model,
} from "./model.ts";
import { foldLog, type Log, type LogEntry } from "./results.ts";
import { checkActs } from "./tables/acts.ts";
import { codesSay } from "./tables/codesSay.ts";
import { signRow } from "../tables/signs.ts";
import type { SignSays } from "../tables/signs/row.ts";
import type { Complaint } from "./types.ts";

/** A recording's findings, and when it was made: ISO 8601 of its t = 0. */
export interface HeardRecording {
  readonly recording: string;
  readonly started: string;
  readonly findings: Findings;
}

/** All that is known of one visit. */
export interface Situation {
  readonly complaints: readonly Complaint[];
  readonly facts?: VehicleFacts;
  readonly heard?: readonly HeardRecording[];
  readonly log?: readonly LogEntry[];
  /** Own proved cases, which count beside the tables; left out: the tables alone. */
  readonly own?: OwnCases;
}

export type EvidenceSource = "sign" | "code" | "check" | "marked" | "act";

/** One answer, with the words it is told in. */
export interface Evidence extends Observed {
  readonly source: EvidenceSource;
  readonly words: string;
  /** The sign's key, the code, the entry's or the mark's id. */
  readonly of: string;
  /** Milliseconds since 1970; null when it has no time of its own. */
  readonly at: number | null;
}

/** A reading near the edge of its range is a third of one outside: an estimate. */
const nearWeight = 1 / 3;
const rank = { outside: 3, near: 2, within: 1, "cannot-tell": 0 } as const;

/** Everything that says something of the causes, oldest first as far as times are known. */
export function gather(model: Model, situation: Situation, log = logOf(situation)): Evidence[] {
  const heard = situation.heard ?? [];
  const out: Evidence[] = [];
  for (const one of heard) {
    out.push(...signEvidence(model, one, situation.complaints));
    out.push(...startEvidence(model, one, { told: situation.complaints, log }));
    out.push(...codeEvidence(model, one));
    out.push(...markedEvidence(model, one, log));
  }
  out.push(...checkEvidence(model, log), ...actEvidence(model, log));
  return out.filter((one) => !isAfter(one, log));
}

const changing: ReadonlySet<string> = new Set(checkActs.map((row) => checkQuestion(row.check)));

/** Seen while a change had taken the fault away: it tells of the mended vehicle, and nothing of what was broken. */
function isAfter(one: Evidence, log: Log): boolean {
  if (one.source === "act" || one.at === null || changing.has(one.question.id)) return false;
  return awayAt(log, one.at);
}

export function logOf(situation: Situation): Log {
  return foldLog(situation.log ?? [], situation.facts ?? {});
}

function signEvidence(model: Model, heard: HeardRecording, told: readonly Complaint[]): Evidence[] {
  const worst = new Map<string, Sign>();
  for (const sign of heard.findings.signs) {
    if (signRow(sign.id)?.says === undefined || sign.verdict === "cannot-tell") continue;
    const before = worst.get(sign.id);
    if (before === undefined || rank[sign.verdict] > rank[before.verdict]) worst.set(sign.id, sign);
  }
  const out: Evidence[] = [];
  for (const [id, sign] of worst) {
    // The sound bank says nothing of the one that could not be judged.
    if (sign.verdict === "within" && banksUntold(heard.findings.signs, sign.id)) continue;
    const says = signRow(id)?.says;
    const question = model.questions.get(signQuestion(id));
    // A complaint that the data shows as well is one observation, not two.
    if (question === undefined || says === undefined) continue;
    if (says.sameAs !== undefined && told.includes(says.sameAs)) continue;
    const said = saidBy(sign, says);
    const outcome = said === null ? -1 : question.outcomes.indexOf(said);
    if (outcome < 0) continue;
    out.push({
      question,
      outcome,
      weight: sign.verdict === "near" ? nearWeight : 1,
      source: "sign",
      words: signWords(sign),
      of: sign.key,
      at: timeOf(heard, sign.windows[0]?.from),
    });
  }
  return out;
}

/** Of a sign that is told bank by bank, one bank could not be judged at all. */
function banksUntold(signs: readonly Sign[], id: string): boolean {
  const told = signs.filter((s) => s.id === id && s.bank !== undefined);
  const judged = new Set(told.filter((s) => s.verdict !== "cannot-tell").map((s) => s.bank));
  return told.some((s) => !judged.has(s.bank));
}

interface Start {
  readonly told: readonly Complaint[];
  readonly log: Log;
}

/**
 * How far starting got, where the complaint is of starting: that a speed was seen, that it fired, that it ran, says what
 * was there then, whatever the signs say of it. Nothing is made of what was not seen: signs tell that.
 */
function startEvidence(model: Model, heard: HeardRecording, { told, log }: Start): Evidence[] {
  const question = model.questions.get(seenQuestion);
  if (question === undefined || !told.includes("no-start")) return [];
  const broken = (from: number): boolean => {
    const at = timeOf(heard, from);
    return at === null || !awayAt(log, at);
  };
  const { cranks, regimes } = heard.findings;
  const tried = cranks.filter((c) => c.outcome !== "open" && broken(c.from));
  const ran = tried.filter((c) => c.outcome === "started");
  const idled = regimes.find((r) => runs.has(r.regime) && r.to - r.from >= leastRunMs && broken(r.from));
  const seen = ((): { level: string; words: string; from: number | undefined } | null => {
    if (ran.length > 0) {
      const of = tried.length === 1 ? "" : `: ${ran.length} of ${tried.length} cranks`;
      return { level: "ran", words: `It starts${of}`, from: ran[0]?.from };
    }
    if (idled !== undefined) return { level: "ran", words: "It runs in the recording", from: idled.from };
    const fired = tried.find((c) => c.outcome === "fired-and-died");
    if (fired !== undefined) return { level: "fired", words: "It fires", from: fired.from };
    const turned = tried.find((c) => (c.speed?.value ?? 0) > 0);
    return turned === undefined
      ? null
      : { level: "turned", words: "The module sees the engine turn", from: turned.from };
  })();
  const outcome = seen === null ? -1 : question.outcomes.indexOf(seen.level);
  if (seen === null || outcome < 0) return [];
  const { words, from } = seen;
  return [{ question, outcome, weight: 1, source: "sign", words, of: "start", at: timeOf(heard, from) }];
}

/** Regimes in which the engine runs by itself; shorter than so long it may have been turned over. */
const runs: ReadonlySet<string> = new Set([
  "idle",
  "idle-cold",
  "idle-warm",
  "held",
  "cruise",
  "load",
  "running",
]);
const leastRunMs = 5000;

/** What a sign says, by the words of its row; null for none of them. */
function saidBy(sign: Sign, { often }: SignSays): string | null {
  if (sign.verdict === "within") return "within";
  if ("outside" in often) return "outside";
  return often.neither === undefined ? sideOf(sign) : (sign.side ?? "neither");
}

/** Which side of its range a sign lies on; null when it does not say. */
export function sideOf(sign: Sign): "low" | "high" | null {
  if (sign.side !== undefined) return sign.side;
  const value = sign.measured?.value;
  const range = sign.range;
  if (value === null || value === undefined || range === null) return null;
  const below = range.low === null ? Number.NEGATIVE_INFINITY : range.low - value;
  const above = range.high === null ? Number.NEGATIVE_INFINITY : value - range.high;
  if (below === above) return null;
  return below > above ? "low" : "high";
}

/** " (8.06 V)", or " (11)" of what is counted. */
const figureIn = (value: number, unit: string): string =>
  ` (${Number(value.toPrecision(4))}${unit === "count" ? "" : ` ${unit}`})`;

function signWords(sign: Sign): string {
  const value = sign.measured?.value;
  const figure =
    sign.measured === null || value === null || value === undefined
      ? ""
      : figureIn(value, sign.measured.unit);
  const edge = sign.verdict === "near" ? ", near the edge" : "";
  return `${sign.title}: ${sign.meaning.replace(/\.$/, "")}${figure}${edge}`;
}

function timeOf(heard: HeardRecording, ms: number | undefined): number | null {
  const started = Date.parse(heard.started);
  return Number.isNaN(started) ? null : started + (ms ?? 0);
}

/** A code that is pending is less sure than one that is stored; less so where it is back soon after clearing. Estimates. */
const pendingWeight = { usual: 0.7, young: 0.85 } as const;

function codeEvidence(model: Model, heard: HeardRecording): Evidence[] {
  const out: Evidence[] = [];
  const cleared = heard.findings.signs.find((s) => s.id === "power.memory-cleared" && s.verdict === "near");
  // "since clearing: 2 warm-ups, 11 km": what is told already has come, or come back, since.
  const age = cleared?.measured?.what;
  for (const row of codesSay) {
    const found = heard.findings.codes.filter((c) => c.code === row.code);
    const question = model.questions.get(codeQuestion(row.code));
    if (found.length === 0 || question === undefined) continue;
    const kinds = new Set(found.map((c) => c.kind));
    // Permanent: the module has seen it and not seen it heal, whoever cleared since.
    const kind = kinds.has("permanent") ? "permanent" : kinds.has("stored") ? "stored" : "pending";
    out.push({
      question,
      outcome: 0,
      weight: kind !== "pending" ? 1 : age === undefined ? pendingWeight.usual : pendingWeight.young,
      source: "code",
      words: `code ${row.code} ${kind}${age === undefined || kind === "permanent" ? "" : `, ${age}`}`,
      of: row.code,
      at: timeOf(heard, found[0]?.t),
    });
  }
  return out;
}

/** What marked intervals answer by themselves, where nobody entered that check by hand for the same mark. */
function markedEvidence(model: Model, heard: HeardRecording, log: Log): Evidence[] {
  const entered = new Set(
    log.results.flatMap((r) => (r.latest.link?.mark === undefined ? [] : [r.latest.link.mark])),
  );
  const out: Evidence[] = [];
  for (const result of markedResults(heard.findings)) {
    const question = model.questions.get(checkQuestion(result.check));
    const outcome = question?.outcomes.indexOf(result.outcome ?? "") ?? -1;
    if (question === undefined || outcome < 0 || result.marks.some((m) => entered.has(m))) continue;
    out.push({
      question,
      outcome,
      weight: 1,
      source: "marked",
      words: `${model.checks.get(result.check)?.name ?? result.check}: ${result.words}`,
      of: result.marks.join(" "),
      at: timeOf(heard, result.from),
    });
  }
  return out;
}

function checkEvidence(model: Model, log: Log): Evidence[] {
  const out: Evidence[] = [];
  for (const result of log.results) {
    if (result.state !== "used" || result.outcome === null) continue;
    const question = model.questions.get(checkQuestion(result.check));
    const check = model.checks.get(result.check);
    const outcome = question?.outcomes.indexOf(result.outcome) ?? -1;
    if (question === undefined || check === undefined || outcome < 0) continue;
    const text = check.outcomes.find((o) => o.id === result.outcome)?.text ?? result.outcome;
    const figure = result.figure === undefined ? "" : figureIn(result.figure.value, result.figure.unit);
    out.push({
      question,
      outcome,
      weight: 1,
      source: "check",
      words: `${check.name}: ${text}${figure}`,
      of: result.id,
      at: Date.parse(result.at),
    });
  }
  return out;
}

/** Which question an act answers, and how; other combinations mean nothing. */
const actOutcome: Readonly<Record<string, readonly ["changed" | "reversed", string]>> = {
  "changed gone": ["changed", "gone"],
  "changed better": ["changed", "gone"],
  "changed stays": ["changed", "stays"],
  "left back": ["changed", "stays"],
  "reversed back": ["reversed", "back"],
  "reversed still-gone": ["reversed", "still-gone"],
};

function actEvidence(model: Model, log: Log): Evidence[] {
  const out: Evidence[] = [];
  for (const act of log.acts) {
    const meant = actOutcome[`${act.did} ${act.effect}`];
    const at = model.place.get(act.cause);
    const cause = at === undefined ? undefined : model.causes[at];
    if (act.withdrawn || meant === undefined || cause === undefined) continue;
    const word = actOf(cause);
    const question = model.questions.get(
      meant[0] === "changed" ? changedQuestion(word) : reversedQuestion(word),
    );
    const outcome = question?.outcomes.indexOf(meant[1]) ?? -1;
    if (question === undefined || outcome < 0) continue;
    out.push({
      question,
      outcome,
      // Several things changed at once: what helped is open.
      weight: 1 / (1 + (act.together ?? 0)),
      source: "act",
      words: `${cause.name}: ${didWords[act.did]}, ${effectWords[act.effect]}`,
      of: act.id,
      at: Date.parse(act.at),
    });
  }
  return out;
}

const didWords = { changed: "changed", reversed: "changed back", left: "left as changed" } as const;

export const effectWords = {
  gone: "the fault went away",
  better: "part of the trouble went away",
  stays: "the fault stayed",
  back: "the fault came back",
  "still-gone": "the fault stayed away",
  unclear: "nothing clear came of it",
} as const;
