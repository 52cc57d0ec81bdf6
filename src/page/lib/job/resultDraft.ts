/** What is typed into the form of a hand check or of a change, and the entry of the log that it becomes. Pure. */
import { z } from "zod/mini";
import { judgeReading } from "../../../interpret/causes/judge.ts";
import {
  unclear,
  type ActEntry,
  type LogEntry,
  type ResultEntry,
} from "../../../interpret/causes/results.ts";
import type { HandCheckRow } from "../../../interpret/causes/types.ts";
import type { VehicleFacts } from "../../../../shared/vehicle.ts";

export type Link = NonNullable<ResultEntry["link"]>;

/** An outcome that may be chosen; what it would do to the order is known of the proposed check only. */
export interface ShownOutcome {
  readonly id: string;
  readonly text: string;
  readonly means: string;
  readonly expect?: string;
  readonly then?: string;
}

export interface ResultDraft {
  /** An outcome of the check, "unclear", or nothing chosen yet. */
  readonly outcome: string | null;
  readonly reading: string;
  readonly unit: string;
  /** The other figure of a reading that is judged by its difference; empty where there is none. */
  readonly beside: string;
  readonly cylinder: string;
  readonly by: string;
  /** ISO 8601 with zone. */
  readonly at: string;
  readonly words: string;
  readonly link: Link | null;
}

/** What a person typed or chose of it, as it is kept beside the page. */
export const typedSchema = z.object({
  ...{ outcome: z.nullable(z.string()), reading: z.string(), unit: z.string(), cylinder: z.string() },
  ...{ by: z.string(), at: z.string(), words: z.string() },
  // What an earlier version kept has none.
  beside: z._default(z.string(), ""),
});

export type Values = readonly (number | null)[];

/**
 * "12,5" is one value; "150 148 - 151", "150, 148" and "150; 148" are several, a dash where none was taken. Null: not
 * numbers.
 */
export function readValues(text: string): Values | null {
  const parts = text.split(/;|,(?=\s)|\s+/).filter((part) => part.trim() !== "");
  const values: (number | null)[] = [];
  for (const part of parts) {
    if (/^[-–—]$/.test(part.trim())) {
      values.push(null);
      continue;
    }
    const value = Number(part.trim().replace(",", ".").replace("−", "-"));
    if (!Number.isFinite(value)) return null;
    values.push(value);
  }
  return values.length > 16 ? null : values;
}

export interface Judgement {
  /** What the reading alone says; null: nothing. */
  readonly outcome: string | null;
  readonly words: string;
  /** It cannot be, or says nothing: to be looked at again before it is kept. */
  readonly question: boolean;
}

/** What a reading says while it is typed; null while there is none. */
export function judged(check: HandCheckRow, draft: ResultDraft, facts: VehicleFacts): Judgement | null {
  if (check.reading === undefined || draft.reading.trim() === "") return null;
  const values = readValues(draft.reading);
  if (values === null) return { outcome: null, words: "This is not a number.", question: true };
  const pair = check.reading.beside;
  const beside = otherFigure(draft);
  if (pair !== undefined && beside === null) {
    return { outcome: null, words: `Enter the other figure too: ${pair.what}.`, question: true };
  }
  const found = judgeReading(
    check,
    { values, unit: draft.unit, ...(beside === null ? {} : { beside }) },
    facts,
  );
  const sum = found.sum === undefined ? "" : `${found.sum}. `;
  const text = check.outcomes.find((o) => o.id === found.outcome)?.text ?? null;
  if (found.question !== undefined)
    return { outcome: null, words: `${sum}${found.question}`, question: true };
  return {
    outcome: found.outcome,
    words: text === null ? sum.trim() : `${sum}The reading says: ${text}.`,
    question: false,
  };
}

/** The figure beside the reading; null where none, or no number, is typed. */
function otherFigure({ beside }: ResultDraft): number | null {
  const values = beside.trim() === "" ? null : readValues(beside);
  return values?.length === 1 ? (values[0] ?? null) : null;
}

/** Something was chosen or typed: the form is in hand. */
export function isBegun({ outcome, reading, beside, words }: ResultDraft): boolean {
  return outcome !== null || [reading, beside, words].some((text) => text.trim() !== "");
}

/** Whether there is anything to keep. A reading that is one of two figures is kept with both. */
export function isWhole(draft: ResultDraft, check?: HandCheckRow): boolean {
  if (draft.reading.trim() === "") return draft.outcome !== null;
  if (readValues(draft.reading) === null) return false;
  return check?.reading?.beside === undefined || otherFigure(draft) !== null;
}

/** What was seen, apart from when and by whom. */
export type ResultAnswer = Omit<ResultEntry, "k" | "id" | "at" | "by" | "check">;

function answer(draft: ResultDraft, photo: string | null): ResultAnswer {
  const values = draft.reading.trim() === "" ? null : readValues(draft.reading);
  const cylinder = Number(draft.cylinder);
  const beside = otherFigure(draft);
  return {
    ...(draft.outcome === null ? {} : { outcome: draft.outcome }),
    ...(values === null
      ? {}
      : { reading: { values: [...values], unit: draft.unit, ...(beside === null ? {} : { beside }) } }),
    ...(draft.cylinder !== "" && Number.isInteger(cylinder) ? { cylinder } : {}),
    ...(draft.words.trim() === "" ? {} : { words: draft.words.trim() }),
    ...(photo === null ? {} : { photo }),
    ...(draft.link === null ? {} : { link: draft.link }),
  };
}

const by = (text: string): { by?: string } => (text.trim() === "" ? {} : { by: text.trim().slice(0, 80) });

export function resultEntry(id: string, check: string, draft: ResultDraft, photo: string | null): LogEntry {
  return { k: "result", id, at: draft.at, ...by(draft.by), check, ...answer(draft, photo) };
}

export function correctEntry(id: string, of: string, draft: ResultDraft, photo: string | null): LogEntry {
  return { k: "correct", id, at: draft.at, ...by(draft.by), of, ...answer(draft, photo) };
}

export function emptyDraft(units: readonly string[], at: string): ResultDraft {
  return {
    ...{ outcome: null, reading: "", unit: units[0] ?? "", beside: "", cylinder: "" },
    ...{ by: "", at, words: "", link: null },
  };
}

/** A draft that says what an earlier entry said, to be corrected. */
export function draftOf(empty: ResultDraft, entry: Pick<ResultEntry, keyof ResultAnswer>): ResultDraft {
  const { reading, outcome, cylinder, words, link } = entry;
  return {
    ...empty,
    outcome: outcome ?? null,
    reading: reading === undefined ? "" : reading.values.map((v) => v ?? "-").join(" "),
    unit: reading?.unit ?? empty.unit,
    beside: reading?.beside === undefined ? "" : String(reading.beside),
    cylinder: cylinder === undefined ? "" : String(cylinder),
    words: words ?? "",
    link: link ?? null,
  };
}

export const couldNotTell = unclear;

/** What may have come of each kind of change. */
export const effectsOf: Readonly<Record<ActEntry["did"], readonly ActEntry["effect"][]>> = {
  changed: ["gone", "better", "stays", "unclear"],
  reversed: ["back", "still-gone", "unclear"],
  left: ["back", "unclear"],
};
