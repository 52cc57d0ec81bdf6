/**
 * A job: what one visit leaves behind, kept as `job.json`, version 1. JOB.md beside this file describes it for other
 * readers. Times of clips are milliseconds since the start of their recording; wall times are ISO 8601 with zone.
 */
import { z } from "zod/mini";
import { CranksideError } from "../../shared/errors.ts";
import { vehicleFactsSchema } from "../../shared/vehicle.ts";
import { adviceSchema } from "../interpret/causes/advice-schema.ts";
import { beforeAfterSchema } from "../interpret/causes/before-after-schema.ts";
import { logEntrySchema } from "../interpret/causes/results.ts";
import { complaints } from "../interpret/causes/types.ts";
import { balanceSchema, comparisonSchema, crankSchema, signSchema } from "../interpret/schema.ts";
import { sections } from "./sections.ts";

export const jobFormat = "crankside-job";
export const jobVersion = 1;

const text = (longest: number) => z.string().check(z.maxLength(longest));
const words = text(8000);
const short = text(400);
const ms = z.number().check(z.gte(0), z.lte(1e12));
const time = text(40);

/** Names of files that a job may point to: no folders, no leading dot. */
export const fileName = z.string().check(z.regex(/^[A-Za-z0-9_][A-Za-z0-9._ ()+@=-]{0,199}$/));
export const jobId = z.string().check(z.regex(/^[a-z0-9][a-z0-9-]{0,79}$/));
const sha256 = z.string().check(z.regex(/^[0-9a-f]{64}$/));

/**
 * What ties evidence to a recording: its name, and the digest of its first `bytes` bytes (inflated). Marks that are
 * added to the file later do not loosen the tie; a changed byte does.
 */
export const tieSchema = z.object({ file: fileName, bytes: z.int().check(z.gte(0)), sha256 });
export type Tie = z.infer<typeof tieSchema>;

/** What every item of a list has. An item that was taken off the sheet stays, so that nothing typed is lost. */
const item = { order: z.number(), removed: z.optional(z.boolean()) };
const section = z.enum(sections);
const lanes = z
  .array(z.array(text(60)).check(z.minLength(1), z.maxLength(8)))
  .check(z.minLength(1), z.maxLength(16));

export const recordingItemSchema = z.object({
  ...item,
  tie: tieSchema,
  started: time,
  from: short,
  /** Made up: of the bench vehicle, or a sample. */
  invented: z.boolean(),
  caption: short,
});

export const clipSchema = z.object({
  ...item,
  section,
  tie: tieSchema,
  from: ms,
  to: ms,
  lanes,
  caption: words,
  /** The entry that it shows, and beside which it stands. */
  of: z.optional(text(60)),
  /** A second stretch, drawn beside the first over the same axes: before and after. */
  against: z.optional(z.object({ tie: tieSchema, from: ms, to: ms })),
});

export const photoTypes = ["image/jpeg", "image/png", "image/webp"] as const;
export type PhotoType = (typeof photoTypes)[number];

export const photoSchema = z.object({
  ...item,
  section,
  file: fileName,
  type: z.enum(photoTypes),
  width: z.int().check(z.gte(1), z.lte(2000)),
  height: z.int().check(z.gte(1), z.lte(2000)),
  bytes: z.int(),
  sha256,
  caption: words,
});

const moduleSchema = z.object({
  module: text(40),
  /** What it says, one fact a row: "stored codes" - "P0335". */
  rows: z.array(z.object({ what: short, says: text(2000) })).check(z.maxLength(200)),
});

/** A statement that was generated, as it was when it was put on the sheet. */
const statementSchema = z.discriminatedUnion("kind", [
  z.object({ kind: z.literal("sign"), sign: signSchema }),
  z.object({ kind: z.literal("crank"), crank: crankSchema }),
  z.object({ kind: z.literal("comparison"), comparison: comparisonSchema }),
  z.object({ kind: z.literal("balance"), balance: balanceSchema }),
  z.object({ kind: z.literal("modules"), modules: z.array(moduleSchema).check(z.maxLength(32)) }),
  z.object({
    kind: z.literal("advice"),
    advice: adviceSchema,
    /** When it was worked out, and from which recordings. */
    at: time,
    recordings: z.array(fileName).check(z.maxLength(64)),
  }),
  /** The entry's own tie is that of the later recording. */
  z.object({ kind: z.literal("before-after"), compared: beforeAfterSchema, before: tieSchema }),
]);

export const entrySchema = z.object({
  ...item,
  section,
  tie: tieSchema,
  /** In the person's words; empty: as generated. The figures stay beside either. */
  words,
  says: statementSchema,
});

export const handCheckSchema = z.object({
  ...item,
  /** Id in the table of hand checks; null for one of the person's own. */
  check: z.nullable(text(60)),
  name: short,
  /** Id in the table; null: only words or a reading. */
  outcome: z.nullable(text(60)),
  /** What was seen, in words. */
  seen: words,
  reading: z.nullable(z.object({ value: z.number(), unit: text(20) })),
  at: time,
  by: short,
  notes: words,
  /** The place in a recording where it happened. */
  place: z.optional(z.object({ tie: tieSchema, from: ms, to: ms })),
  /** Ids of photos. */
  photos: z.array(text(60)).check(z.maxLength(20)),
  /** Withdrawn: shown struck out with its reason, no longer evidence. */
  withdrawn: z.optional(short),
});

/** One line of the log that causes and next checks are worked out from; corrected and withdrawn by later lines. */
export const logItemSchema = z.object({ ...item, entry: logEntrySchema });

export const standings = ["suspected", "shown", "proved", "excluded"] as const;

export const causeSchema = z.object({
  ...item,
  cause: z.nullable(text(60)),
  name: short,
  standing: z.enum(standings),
  /** What speaks for and against it, and what proved it. */
  proof: words,
});

/** What the person put in place of what would be taken by itself. */
const choicesSchema = z.object({
  complaints: z.optional(z.array(z.enum(complaints))),
  /** Causes, the one to be thought of first in front. */
  order: z.optional(z.array(text(60)).check(z.maxLength(100))),
  /** The check to be done next. */
  next: z.optional(text(60)),
  /** Checks that are not wanted. */
  declined: z.optional(z.array(text(60)).check(z.maxLength(100))),
  /** Recordings that the causes are not worked out from. */
  uncounted: z.optional(z.array(fileName).check(z.maxLength(64))),
});

const id = z.string().check(z.regex(/^[A-Za-z0-9][A-Za-z0-9-]{0,59}$/));
const itemsOf = <T extends z.ZodMiniType>(schema: T) => z.record(id, schema);

export const jobSchema = z.object({
  format: z.literal(jobFormat),
  version: z.literal(jobVersion),
  id: jobId,
  /** Counts the saved changes. */
  revision: z.int().check(z.gte(0)),
  created: time,
  changed: time,
  archived: z.boolean(),
  /** Who is concerned. The plate identifies a person too. */
  who: z.object({ mechanic: short, customer: short, plate: text(40) }),
  vehicle: vehicleFactsSchema,
  /** Where the VIN is from. */
  vinFrom: z.nullable(z.enum(["read", "typed"])),
  /** The person's own words in each part. */
  texts: z.partialRecord(section, words),
  /** Parts that are left out of the note. */
  leftOut: z.partialRecord(section, z.boolean()),
  /** Cautions that applied, by what they say. */
  cautions: itemsOf(z.object({ ...item, text: words })),
  recordings: itemsOf(recordingItemSchema),
  clips: itemsOf(clipSchema),
  photos: itemsOf(photoSchema),
  entries: itemsOf(entrySchema),
  checks: itemsOf(handCheckSchema),
  causes: itemsOf(causeSchema),
  log: itemsOf(logItemSchema),
  advice: z._default(choicesSchema, {}),
});

export type JobDocument = z.infer<typeof jobSchema>;
export type Clip = z.infer<typeof clipSchema>;
export type Photo = z.infer<typeof photoSchema>;
export type Entry = z.infer<typeof entrySchema>;
export type HandCheck = z.infer<typeof handCheckSchema>;
export type Cause = z.infer<typeof causeSchema>;
export type ModuleSays = z.infer<typeof moduleSchema>;

/** The lists of a job; each item has an id. */
export const lists = [
  "cautions",
  "recordings",
  "clips",
  "photos",
  "entries",
  "checks",
  "causes",
  "log",
] as const;
export type ListName = (typeof lists)[number];

export function newJob(id: string, created: string): JobDocument {
  return {
    format: jobFormat,
    version: jobVersion,
    id,
    revision: 0,
    created,
    changed: created,
    archived: false,
    who: { mechanic: "", customer: "", plate: "" },
    vehicle: {},
    vinFrom: null,
    texts: {},
    leftOut: {},
    cautions: {},
    recordings: {},
    clips: {},
    photos: {},
    entries: {},
    checks: {},
    causes: {},
    log: {},
    advice: {},
  };
}

/** The items of a list that stand on the sheet, in their order. */
export function inOrder<T extends { readonly order: number; readonly removed?: boolean | undefined }>(
  list: Readonly<Record<string, T>>,
): (T & { readonly id: string })[] {
  return Object.entries(list)
    .filter(([, entry]) => entry.removed !== true)
    .map(([key, entry]) => ({ ...entry, id: key }))
    .sort((a, b) => a.order - b.order || (a.id < b.id ? -1 : 1));
}

/** The place behind the last item of a list. */
export function nextOrder(list: Readonly<Record<string, { readonly order: number }>>): number {
  return Math.max(0, ...Object.values(list).map((entry) => entry.order)) + 1;
}

/** Something on the sheet was made up: the whole note says so. */
export function isInvented(job: JobDocument): boolean {
  return Object.values(job.recordings).some((r) => r.invented && r.removed !== true);
}

/** Reads job.json; throws `job-invalid` or `newer-format`. `where` names the file. */
export function readJob(content: string, where: string): JobDocument {
  let value: unknown;
  try {
    value = JSON.parse(content);
  } catch (error) {
    throw new CranksideError("job-invalid", "not a job", { expected: "JSON", where }, error);
  }
  return checkJob(value, where);
}

export function checkJob(value: unknown, where: string): JobDocument {
  const fields = typeof value === "object" && value !== null ? (value as Record<string, unknown>) : {};
  const { format, version } = fields;
  if (format === jobFormat && typeof version === "number" && version > jobVersion) {
    throw new CranksideError("newer-format", "the job is of a newer format", {
      expected: `version ${jobVersion} or lower`,
      found: `version ${version}`,
      where,
      advice: "Open it with a newer Crankside; nothing was changed.",
    });
  }
  const result = jobSchema.safeParse(value);
  if (result.success) return result.data;
  const issue = result.error.issues[0];
  throw new CranksideError("job-invalid", "not a job as it should be", {
    expected: issue?.message ?? "a job",
    found: `something else in ${issue?.path.join(".") ?? "it"}`,
    where,
  });
}

export function jobText(job: JobDocument): string {
  return `${JSON.stringify(job, null, 1)}\n`;
}
