/**
 * A job: what one visit leaves behind, kept as `job.json`, version 1. JOB.md beside this file describes it for other
 * readers. Times of clips are milliseconds since the start of their recording; wall times are ISO 8601 with zone.
 */
import { z } from "zod/mini";
import { CranksideError } from "../../shared/errors.ts";
import { forms, isFields, migrated, versionOf } from "../../shared/stored/forms.ts";
import { withCurrentIds } from "../../shared/stored/jobIds.ts";
import { vehicleFactsSchema } from "../../shared/vehicle.ts";
import { logEntrySchema } from "../interpret/causes/results.ts";
import { sections, type SectionId } from "./sections.ts";
import { notInShape } from "../../shared/wrongShape.ts";

export const jobFormat = forms.job.format;
export const jobVersion = versionOf(forms.job);

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

/** So many characters of each part have room on page one of the note; what is longer is cut there, and told. */
export const frontLongest = {
  ...{ complaint: 220, found: 300, proved: 300, done: 320, left: 260, back: 160, driver: 200 },
} as const;
const front = z.optional(text(1000));
/**
 * Page one of the note, for the customer, in the person's own words; what is not there is worked out from the rest of
 * the sheet.
 */
export const frontSchema = z.object({
  ...{ complaint: front, found: front, proved: front, done: front },
  /** What is left to be done. */
  left: front,
  /** When to come back, and with what. */
  back: front,
  /** What the driver should mind, beside what the tables say. */
  driver: front,
  /** Id of the clip that shows what was found; empty: no picture. */
  picture: z.optional(text(60)),
});

/**
 * A statement as it was when it was put on the sheet: what the interpreter or the advice said then. It is kept as it is,
 * whatever this version would say, and is not held to the shapes of today; snapshot.ts reads it.
 */
const snapshotSchema = z.object({ kind: text(60) });
export type Snapshot = z.infer<typeof snapshotSchema>;

const lines = z.array(words).check(z.maxLength(1000));
const saidSchema = z.object({
  title: words,
  verdict: short,
  generated: words,
  figures: lines,
  notes: lines,
  cautions: lines,
});
/** The words of a statement, in one system of units. */
export type Said = z.infer<typeof saidSchema>;

export const entrySchema = z.object({
  ...item,
  section,
  tie: tieSchema,
  /** In the person's words; empty: as generated. The figures stay beside either. */
  words,
  says: snapshotSchema,
  /** Its words as they were then, so that they stand when the figures can no longer be laid out. */
  said: z.optional(z.object({ metric: saidSchema, us: saidSchema })),
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
export const choicesSchema = z.object({
  complaints: z.optional(z.array(text(60)).check(z.maxLength(100))),
  /** Causes, the one to be thought of first in front. */
  order: z.optional(z.array(text(60)).check(z.maxLength(100))),
  /** The check to be done next. */
  next: z.optional(text(60)),
  /** Checks that are not wanted. */
  declined: z.optional(z.array(text(60)).check(z.maxLength(100))),
  /** Recordings that the causes are not worked out from. */
  uncounted: z.optional(z.array(fileName).check(z.maxLength(64))),
});

export const whoSchema = z.object({ mechanic: short, customer: short, plate: text(40) });

const id = z.string().check(z.regex(/^[A-Za-z0-9][A-Za-z0-9-]{0,59}$/));
/** By part of the sheet; what a later version calls a part is kept. */
const bySection = <T extends z.ZodMiniType>(schema: T) =>
  z.record(text(60), schema) as unknown as z.ZodMiniType<Partial<Record<SectionId, z.infer<T>>>>;
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
  who: whoSchema,
  vehicle: vehicleFactsSchema,
  /** Facts that the job leaves open although its recordings say something: they were wiped out. */
  unsaid: z.optional(z.record(text(60), z.boolean())),
  /** Where the VIN is from. */
  vinFrom: z.nullable(z.enum(["read", "typed"])),
  /** The person's own words in each part. */
  texts: bySection(words),
  /** Parts that are left out of the note. */
  leftOut: bySection(z.boolean()),
  /** Cautions that applied, by what they say. */
  cautions: itemsOf(z.object({ ...item, text: words })),
  recordings: itemsOf(recordingItemSchema),
  clips: itemsOf(clipSchema),
  photos: itemsOf(photoSchema),
  entries: itemsOf(entrySchema),
  checks: itemsOf(handCheckSchema),
  causes: itemsOf(causeSchema),
  log: itemsOf(logItemSchema),
  advice: choicesSchema,
  front: z.optional(frontSchema),
});

export type JobDocument = z.infer<typeof jobSchema>;
export type Clip = z.infer<typeof clipSchema>;
export type Photo = z.infer<typeof photoSchema>;
export type Entry = z.infer<typeof entrySchema>;
export type HandCheck = z.infer<typeof handCheckSchema>;
export type Cause = z.infer<typeof causeSchema>;
export type FrontWords = z.infer<typeof frontSchema>;

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

/**
 * A job of any version so far, with the ids of today; throws `job-invalid` or `newer-format`. What is not known here
 * stays in it, at every level, and is written again.
 */
export function checkJob(value: unknown, where: string): JobDocument {
  const stored = migrated(forms.job, value, where);
  const today = isFields(stored) ? withCurrentIds({ ...stored, advice: stored["advice"] ?? {} }) : stored;
  const result = jobSchema.safeParse(today);
  // Not what the schema hands out, which has the known fields alone.
  if (result.success) return today as JobDocument;
  const { issues } = result.error;
  throw notInShape("job-invalid", "not a job as it should be", {
    issues,
    value: today,
    whole: "a job",
    where,
  });
}

export function jobText(job: JobDocument): string {
  return `${JSON.stringify(job, null, 1)}\n`;
}
