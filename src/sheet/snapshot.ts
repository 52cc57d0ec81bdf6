/**
 * Statements on the sheet, as they were said. One that this version can lay out is laid out with its figures; of any
 * other, which an earlier or a later version put there, its words are shown as they were.
 */
import { z } from "zod/mini";
import { isFields } from "../../shared/stored/forms.ts";
import type { UnitSystem } from "../../shared/units.ts";
import { adviceSchema, adviceVersion } from "../interpret/causes/adviceSchema.ts";
import { beforeAfterSchema, beforeAfterVersion } from "../interpret/causes/beforeAfterSchema.ts";
import {
  balanceSchema,
  comparisonSchema,
  crankSchema,
  signSchema,
  wiggleSchema,
} from "../interpret/report/schema.ts";
import { fileName, tieSchema, type Entry, type Said, type Snapshot, type Tie } from "./job.ts";

const moduleSchema = z.object({
  module: z.string(),
  /** What it says, one fact a row: "stored codes" - "P0335". */
  rows: z.array(z.object({ what: z.string(), says: z.string() })),
});
export type ModuleSays = z.infer<typeof moduleSchema>;

const saysSchema = z.discriminatedUnion("kind", [
  z.object({ kind: z.literal("sign"), sign: signSchema }),
  z.object({ kind: z.literal("crank"), crank: crankSchema }),
  z.object({ kind: z.literal("comparison"), comparison: comparisonSchema }),
  z.object({ kind: z.literal("balance"), balance: balanceSchema }),
  z.object({ kind: z.literal("wiggle"), wiggle: wiggleSchema }),
  z.object({
    kind: z.literal("modules"),
    modules: z.array(moduleSchema),
    /** When they had answered; the recording's start where it is not there. */
    at: z.optional(z.string()),
  }),
  z.object({
    kind: z.literal("advice"),
    advice: adviceSchema,
    /** When it was worked out, and from which recordings. */
    at: z.string(),
    recordings: z.array(fileName),
  }),
  /** The entry's own tie is that of the later recording. */
  z.object({ kind: z.literal("before-after"), compared: beforeAfterSchema, before: tieSchema }),
]);
/** What this version can lay out. */
export type Says = z.infer<typeof saysSchema>;

/** Statements do not change, and are looked at with every stroke of the page. */
const known = new WeakMap<Snapshot, Says | null>();

/** A statement that can be laid out with its figures; null where only its words can be shown. */
export function saysOf(says: Snapshot): Says | null {
  let read = known.get(says);
  if (read === undefined) {
    read = saysSchema.safeParse(asToday(says)).success ? (says as Says) : null;
    known.set(says, read);
  }
  return read;
}

/** A version inside counts what readers of JSON could be misled by; here the shape alone counts. */
function asToday(says: Snapshot): unknown {
  const { advice, compared, ...rest } = says as Snapshot & Record<string, unknown>;
  return {
    ...rest,
    ...(isFields(advice) ? { advice: { ...advice, version: adviceVersion } } : {}),
    ...(isFields(compared) ? { compared: { ...compared, version: beforeAfterVersion } } : {}),
  };
}

/** The tie of the earlier recording, where it is a comparison with one. */
export function beforeOf(says: Snapshot): Tie[] {
  const read = saysOf(says);
  return read?.kind === "before-after" ? [read.before] : [];
}

/** The words that were kept with a statement, else what can be read in it. */
export function wordsOf({ says, said }: Pick<Entry, "says" | "said">, system: UnitSystem): Said {
  return (
    said?.[system] ?? {
      title: `A statement of another version (${says.kind})`,
      verdict: "",
      generated: "",
      figures: [...new Set(sentencesIn(says))],
      notes: [],
      cautions: [],
    }
  );
}

/** Texts of more than one word: ids and units are none. */
function sentencesIn(value: unknown): string[] {
  if (typeof value === "string") return /\S\s+\S/.test(value) ? [value] : [];
  if (typeof value !== "object" || value === null) return [];
  return Object.values(value).flatMap(sentencesIn);
}
