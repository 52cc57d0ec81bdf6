/**
 * A case to practise on, as one file: what the customer tells, and what is hidden, either faults of the bench vehicle or a
 * recording with its causes. recordings/CASE.md describes it. What is hidden does not meet the eye; it is no secret from
 * who decodes it. Pure.
 */
import { z } from "zod/mini";
import { CranksideError, messageOf } from "../../shared/errors.ts";
import { forms, migrated, versionOf } from "../../shared/stored/forms.ts";
import { currentId } from "../../shared/stored/renamed.ts";
import { notInShape } from "../../shared/wrongShape.ts";
import { repairCost, usualPreferences } from "../interpret/causes/next.ts";
import { causeRow } from "../interpret/causes/rows.ts";
import { base64 } from "./base64.ts";

const id = z.string().check(z.regex(/^[a-z0-9.-]{1,60}$/));
const causes = z.array(id).check(z.minLength(1), z.maxLength(20));
/** Longest file of a case, characters: a recording of an hour fits. */
export const longestCase = 128 * 1024 * 1024;

const hiddenSchema = z.object({
  /** Causes whose repair mends it. */
  causes,
  /** Of the bench vehicle; absent where a recording is what is looked at. */
  bench: z.optional(
    z.object({
      vehicle: id,
      faults: z
        .array(z.object({ name: id, severity: z.number().check(z.gt(0), z.lte(1)) }))
        .check(z.minLength(1), z.maxLength(6)),
    }),
  ),
});
export type HiddenCase = z.infer<typeof hiddenSchema>;

const text = (most: number) => z.string().check(z.minLength(1), z.maxLength(most));
const fileSchema = z.object({
  format: z.literal(forms.practiceCase.format),
  version: z.literal(versionOf(forms.practiceCase)),
  title: text(120),
  /** What the customer tells. */
  story: text(4000),
  /** What it is about, in the customer's words; the sheet begins with it. */
  complaint: z.optional(z.string().check(z.maxLength(4000))),
  /** What the one who knows spends, in money with an hour at 40; worked out from the causes where nobody said. */
  knows: z.optional(z.number().check(z.gte(0), z.lte(1_000_000))),
  /** JSON in base64. */
  hidden: z.string().check(z.maxLength(20_000)),
  recording: z.optional(z.object({ file: text(200), bytes: z.string() })),
});

export interface PracticeCaseFile {
  readonly title: string;
  readonly story: string;
  readonly complaint: string;
  readonly knows: number;
  readonly hidden: HiddenCase;
  readonly recording: { readonly file: string; readonly bytes: Uint8Array<ArrayBuffer> } | null;
}

export type NewCase = Omit<PracticeCaseFile, "knows"> & { readonly knows?: number };

const noCase = "this is no case to practise on";

function invalid(where: string, expected: string, cause?: unknown): CranksideError {
  return new CranksideError("case-invalid", noCase, { expected, where }, cause);
}

/** The cheapest repair that mends it, time at its usual worth. */
export function knowsOf(ids: readonly string[]): number {
  const costs = ids.flatMap((one) => {
    const row = causeRow(one);
    return row === undefined ? [] : [repairCost(row, usualPreferences.perHour).full];
  });
  return costs.length === 0 ? 0 : Math.round(Math.min(...costs));
}

export function caseText({ title, story, complaint, knows, hidden, recording }: NewCase): string {
  const stored = {
    ...{ format: forms.practiceCase.format, version: versionOf(forms.practiceCase), title, story },
    ...(complaint === "" ? {} : { complaint }),
    knows: knows ?? knowsOf(hidden.causes),
    hidden: base64(new TextEncoder().encode(JSON.stringify(hidden))),
    ...(recording === null ? {} : { recording: { file: recording.file, bytes: base64(recording.bytes) } }),
  };
  return `${JSON.stringify(stored, null, 1)}\n`;
}

/** Throws `case-invalid` or `newer-format`. */
export function readCase(written: string, where: string): PracticeCaseFile {
  const stored = parsed(written, where);
  const today = migrated(forms.practiceCase, stored, where);
  const file = fileSchema.safeParse(today);
  if (!file.success) {
    const { issues } = file.error;
    throw notInShape("case-invalid", noCase, { issues, value: today, whole: "a case", where });
  }
  const { title, story, complaint = "", knows, recording } = file.data;
  const hiddenText = new TextDecoder("utf-8", { ignoreBOM: true }).decode(decoded(file.data.hidden, where));
  const hidden = hiddenSchema.safeParse(parsed(hiddenText, `${where}, hidden`));
  if (!hidden.success) throw invalid(`${where}, hidden`, "causes, and faults of a bench vehicle");
  if ((hidden.data.bench === undefined) === (recording === undefined))
    throw invalid(where, "either faults of a bench vehicle or a recording");
  const ids = hidden.data.causes.map((one) => currentId("causes", one));
  return {
    ...{ title, story, complaint, knows: knows ?? knowsOf(ids) },
    hidden: { ...hidden.data, causes: ids },
    recording:
      recording === undefined ? null : { file: recording.file, bytes: decoded(recording.bytes, where) },
  };
}

function parsed(written: string, where: string): unknown {
  try {
    return JSON.parse(written) as unknown;
  } catch (error) {
    throw invalid(where, `JSON; ${messageOf(error).slice(0, 60)}`, error);
  }
}

function decoded(written: string, where: string): Uint8Array<ArrayBuffer> {
  try {
    return Uint8Array.from(atob(written), (letter) => letter.charCodeAt(0));
  } catch (error) {
    throw invalid(where, "base64", error);
  }
}
