/** Jobs that ended with a proved cause, as cases that count beside the tables; and as a file without anybody's name. Pure. */
import { z } from "zod/mini";
import { forms, migrated, versionOf } from "../../../shared/stored/forms.ts";
import { currentId } from "../../../shared/stored/renamed.ts";
import type { OwnCase } from "../../interpret/causes/own.ts";
import { causeRow } from "../../interpret/causes/rows.ts";
import type { JobShelfEntry, RecordingShelfEntry } from "./entries.ts";
import type { Searchable } from "./search.ts";
import { notInShape } from "../../../shared/wrongShape.ts";

const id = z.string().check(z.regex(/^[a-z0-9.-]{1,60}$/));

export const ownCaseSchema = z.object({
  /** Tells a case from others, and nobody who it was. */
  id,
  complaints: z.array(id).check(z.maxLength(40)),
  signs: z.array(id).check(z.maxLength(200)),
  cause: id,
  cylinders: z.optional(z.int().check(z.gte(1), z.lte(16))),
  displacementL: z.optional(z.number().check(z.gt(0), z.lte(20))),
  fuel: z.optional(z.enum(["petrol", "diesel", "ethanol", "gas", "other"])),
});
export type SharedCase = z.infer<typeof ownCaseSchema>;

export interface LocalCase extends SharedCase {
  /** The job that it is. */
  readonly job: string;
}

/**
 * A case for each cause that a job proved; what was only suspected or shown is none. `idOf` makes a name that tells nothing
 * of the job's own. A recording in which a sign is outside its range lends it to the cases of the jobs it stands on.
 */
export function casesOf(all: readonly Searchable[], idOf: (text: string) => string): LocalCase[] {
  const recordings = new Map<string, RecordingShelfEntry>();
  for (const { name, entry } of all) if (entry.kind === "recording") recordings.set(name, entry);
  return all.flatMap(({ name, entry }) =>
    entry.kind === "job" ? ofJob(name, entry, { recordings, idOf }) : [],
  );
}

function ofJob(
  job: string,
  entry: JobShelfEntry,
  {
    recordings,
    idOf,
  }: {
    readonly recordings: ReadonlyMap<string, RecordingShelfEntry>;
    readonly idOf: (text: string) => string;
  },
): LocalCase[] {
  const heard = entry.recordings.flatMap((file) => recordings.get(file) ?? []);
  const signs = heard.flatMap((h) => h.signs.filter((s) => s.verdict === "outside").map((s) => s.id));
  const complaints =
    entry.complaints.length > 0 ? entry.complaints : [...new Set(heard.flatMap((h) => h.complaints))];
  const { cylinders, displacementL, fuel } = entry.vehicle;
  return entry.causes.flatMap(({ id: cause, standing }): LocalCase[] => {
    if (standing !== "proved" || cause === null || causeRow(cause) === undefined) return [];
    const one = ownCaseSchema.safeParse({
      // The instant at which the job was begun tells jobs apart as well as their names do.
      id: idOf(`${entry.started} ${cause}`),
      ...{ complaints, signs: [...new Set(signs)].sort(), cause },
      ...{ cylinders, displacementL, fuel },
    });
    return one.success ? [{ ...one.data, job }] : [];
  });
}

const fileSchema = z.object({
  format: z.literal(forms.cases.format),
  version: z.literal(versionOf(forms.cases)),
  cases: z.array(ownCaseSchema).check(z.maxLength(100_000)),
});

/** The text of a file for others: no job, no name, no day, no VIN and no plate. */
export function casesFile(cases: readonly SharedCase[]): string {
  const bare = cases.map((one) => ownCaseSchema.parse(one));
  bare.sort((a, b) => (a.id < b.id ? -1 : 1));
  const file = { format: forms.cases.format, version: versionOf(forms.cases), cases: bare };
  return `${JSON.stringify(file, null, 1)}\n`;
}

/** Throws `cases-invalid` or `newer-format`. */
export function readCases(text: string, where: string): SharedCase[] {
  let stored: unknown;
  try {
    stored = JSON.parse(text);
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    stored = null;
  }
  const today = migrated(forms.cases, stored, where);
  const file = fileSchema.safeParse(today);
  if (!file.success) {
    const { issues } = file.error;
    const found = { issues, value: today, whole: "what `crankside cases --out` writes", where };
    throw notInShape("cases-invalid", "this is no file of cases", found);
  }
  return file.data.cases.map((one) => ({
    ...one,
    complaints: one.complaints.map((c) => currentId("complaints", c)),
    signs: one.signs.map((s) => currentId("signs", s)),
    cause: currentId("causes", one.cause),
  }));
}

/** Each once, own ones first. */
export function together(
  own: readonly LocalCase[],
  others: readonly SharedCase[],
): (OwnCase & { job?: string })[] {
  const byId = new Map<string, OwnCase & { job?: string }>();
  for (const one of [...own, ...others]) if (!byId.has(one.id)) byId.set(one.id, one);
  return [...byId.values()];
}
