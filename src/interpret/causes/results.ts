/**
 * What a person found by hand, as a log that is only added to: a result can be corrected or withdrawn later and its
 * history stays. Times are ISO 8601 with zone.
 */
import { z } from "zod/mini";
import { keeping } from "../../../shared/stored/keeping.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import { judgeReading, type Reading } from "./judge.ts";
import { handChecks } from "./tables/checks.ts";
import type { HandCheckRow } from "./types.ts";

const id = z.string().check(z.minLength(1), z.maxLength(40));
const when = z.string().check(z.minLength(10), z.maxLength(40));
const words = z.optional(z.string().check(z.maxLength(2000)));

export const readingSchema = keeping({
  /** One value, or one a cylinder with the first cylinder first; null where none was taken. */
  values: z.array(z.nullable(z.number())).check(z.minLength(1), z.maxLength(16)),
  /** As the person read it: kPa, psi, bar, inHg, V, mV, A, ohm, %, °C, °F. */
  unit: z.string().check(z.maxLength(12)),
  /** The other figure, in the same unit, where the check judges a difference; left out: the values are differences. */
  beside: z.optional(z.number()),
});

const linkSchema = keeping({
  /** File name of the recording. */
  recording: z.string().check(z.maxLength(200)),
  mark: z.optional(id),
  /** Milliseconds since its start. */
  from: z.optional(z.number()),
  to: z.optional(z.number()),
});

const answer = {
  /** An outcome of the check, or "unclear"; left out when the reading says it. */
  outcome: z.optional(z.string().check(z.maxLength(40))),
  reading: z.optional(readingSchema),
  cylinder: z.optional(z.int().check(z.gte(1), z.lte(16))),
  words,
  photo: z.optional(z.string().check(z.maxLength(200))),
  link: z.optional(linkSchema),
};
/** The words of the tables when it was entered: they stand where a later table has no such row any more. */
const entrySaid = z.optional(
  keeping({
    name: z.string().check(z.maxLength(400)),
    outcome: z.optional(z.string().check(z.maxLength(2000))),
  }),
);
const common = { id, at: when, by: z.optional(z.string().check(z.maxLength(80))), said: entrySaid };

export const logEntrySchema = z.discriminatedUnion("k", [
  keeping({ k: z.literal("result"), ...common, check: z.string().check(z.maxLength(40)), ...answer }),
  /** The vehicle itself was changed: a part replaced, moved, cleaned; or that was undone. */
  keeping({
    k: z.literal("act"),
    ...common,
    cause: z.string().check(z.maxLength(40)),
    /** "left": nothing was done, the earlier change is still in place. */
    did: z.enum(["changed", "reversed", "left"]),
    /** "better": part of the trouble is gone, another part stays. */
    effect: z.enum(["gone", "better", "stays", "back", "still-gone", "unclear"]),
    /** How many other things were changed between the last trial and this one. */
    together: z.optional(z.int().check(z.gte(0), z.lte(50))),
    words,
    photo: z.optional(z.string().check(z.maxLength(200))),
    link: z.optional(linkSchema),
  }),
  /** Puts another answer in place of that of an earlier entry. */
  keeping({ k: z.literal("correct"), ...common, of: id, ...answer }),
  keeping({ k: z.literal("withdraw"), ...common, of: id, words }),
]);
export type LogEntry = z.infer<typeof logEntrySchema>;
export type ResultEntry = Extract<LogEntry, { k: "result" }>;
export type ActEntry = Extract<LogEntry, { k: "act" }>;
type CorrectEntry = Extract<LogEntry, { k: "correct" }>;

export type ResultState = "used" | "unclear" | "questioned" | "withdrawn";

export interface Result {
  readonly id: string;
  readonly check: string;
  readonly at: string;
  readonly by?: string;
  readonly state: ResultState;
  /** Place among the check's outcomes; null unless the state is "used". */
  readonly outcome: string | null;
  /** The figure that was judged, in the check's unit. */
  readonly figure?: { readonly value: number; readonly unit: string };
  /** How the figure came of what was entered, where it is a difference. */
  readonly sum?: string;
  /** Why it is questioned or unclear, and what would help. */
  readonly question?: string;
  readonly latest: ResultEntry | CorrectEntry;
  /** Every entry about it, oldest first; more than one means it was corrected or withdrawn. */
  readonly history: readonly LogEntry[];
}

export interface Act extends ActEntry {
  readonly withdrawn: boolean;
  readonly history: readonly LogEntry[];
}

export interface Log {
  /** By time; withdrawn ones kept, with that state. */
  readonly results: readonly Result[];
  readonly acts: readonly Act[];
  /** Entries that could not be used, and why. */
  readonly problems: readonly { readonly id: string; readonly why: string }[];
}

const checkById: ReadonlyMap<string, HandCheckRow> = new Map(
  (handChecks as readonly HandCheckRow[]).map((c) => [c.id, c]),
);

/** The word for a result that says nothing either way. */
export const unclear = "unclear";

/** Folds a log of entries, in the order they were made, to what holds now. Never throws. */
export function foldLog(entries: readonly LogEntry[], facts: VehicleFacts = {}): Log {
  const byId = new Map<string, LogEntry[]>();
  const problems: { id: string; why: string }[] = [];
  for (const entry of entries) {
    const problem = problemOf(entry, byId);
    if (problem !== null) {
      problems.push({ id: entry.id, why: problem });
      continue;
    }
    if (entry.k === "result" || entry.k === "act") byId.set(entry.id, [entry]);
    else byId.get(entry.of)?.push(entry);
  }
  const results: Result[] = [];
  const acts: Act[] = [];
  for (const history of byId.values()) {
    const first = history[0];
    if (first?.k === "result") results.push(resultOf(first, history, facts));
    if (first?.k === "act") {
      acts.push({ ...first, withdrawn: history.some((e) => e.k === "withdraw"), history });
    }
  }
  const byTime = (a: { at: string }, b: { at: string }): number => Date.parse(a.at) - Date.parse(b.at);
  return { results: results.sort(byTime), acts: acts.sort(byTime), problems };
}

function problemOf(entry: LogEntry, known: ReadonlyMap<string, readonly LogEntry[]>): string | null {
  if (Number.isNaN(Date.parse(entry.at))) return `no time: ${entry.at}`;
  switch (entry.k) {
    case "result":
    case "act":
      return known.has(entry.id) ? "an entry of this name is there already" : null;
    case "correct":
      return known.get(entry.of)?.[0]?.k === "result" ? null : `nothing to correct: ${entry.of}`;
    case "withdraw":
      return known.has(entry.of) ? null : `nothing to withdraw: ${entry.of}`;
  }
}

function resultOf(first: ResultEntry, history: readonly LogEntry[], facts: VehicleFacts): Result {
  const corrections = history.filter((e): e is CorrectEntry => e.k === "correct");
  const latest = corrections.at(-1) ?? first;
  const base = {
    id: first.id,
    check: first.check,
    at: first.at,
    ...(first.by === undefined ? {} : { by: first.by }),
    latest,
    history,
  };
  if (history.some((e) => e.k === "withdraw")) return { ...base, state: "withdrawn", outcome: null };
  const check = checkById.get(first.check);
  if (check === undefined) return { ...base, state: "questioned", outcome: null, question: unknownCheck };
  return { ...base, ...answerOf(check, latest, facts) };
}

const unknownCheck = "This version has no such hand check: it is kept, and not counted.";

type Answered = Pick<Result, "state" | "outcome" | "figure" | "sum" | "question">;

function answerOf(check: HandCheckRow, entry: ResultEntry | CorrectEntry, facts: VehicleFacts): Answered {
  const named = entry.outcome;
  if (named !== undefined && named !== unclear && !check.outcomes.some((o) => o.id === named)) {
    return { state: "questioned", outcome: null, question: `${check.name} has no outcome "${named}".` };
  }
  if (entry.reading === undefined) {
    if (named === undefined || named === unclear) return { state: "unclear", outcome: null };
    return { state: "used", outcome: named };
  }
  const read: Reading = entry.reading;
  const judged = judgeReading(check, read, facts);
  const figure = {
    ...(judged.figure === undefined ? {} : { figure: judged.figure }),
    ...(judged.sum === undefined ? {} : { sum: judged.sum }),
  };
  if (judged.question !== undefined && (named === undefined || judged.impossible)) {
    return { state: "questioned", outcome: null, question: judged.question, ...figure };
  }
  // What the person says goes before what the range says: they saw more than the number.
  if (named === unclear) return { state: "unclear", outcome: null, ...figure };
  if (named !== undefined) {
    const differs =
      judged.outcome !== null && judged.outcome !== named
        ? { question: `The reading alone would say: ${textOf(check, judged.outcome)}.` }
        : {};
    return { state: "used", outcome: named, ...figure, ...differs };
  }
  return judged.outcome === null
    ? { state: "unclear", outcome: null, ...figure }
    : { state: "used", outcome: judged.outcome, ...figure };
}

function textOf(check: HandCheckRow, outcome: string): string {
  return check.outcomes.find((o) => o.id === outcome)?.text ?? outcome;
}
