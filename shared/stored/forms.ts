/**
 * Every form in which something is stored, with its version and the way up from each version to the next. DEVELOPERS.md
 * says how to change one. What any version wrote opens in every later one; tests/archive/ holds us to it.
 */
import { CranksideError } from "../errors.ts";

export type Fields = Readonly<Record<string, unknown>>;

/** From one version to the next: pure, and nothing that it does not know gets lost. */
export type Migration = (stored: Fields) => Fields;

export interface Form {
  /** What it is, in words: "the job". */
  readonly what: string;
  /** The field `format` of it; null where it has none. */
  readonly format: string | null;
  /** The first one leads from version 1 to 2, and so on: their number makes the version of today. */
  readonly migrate: readonly Migration[];
}

export const forms = {
  recording: { what: "the recording", format: "crankside-recording", migrate: [] },
  job: { what: "the job", format: "crankside-job", migrate: [] },
  bundle: { what: "the bundle", format: "crankside-bundle", migrate: [] },
  columnMap: { what: "the column map", format: null, migrate: [] },
  parameters: { what: "the file of parameters", format: null, migrate: [] },
  cases: { what: "the file of cases", format: "crankside-cases", migrate: [] },
  normal: { what: "what was learned of the vehicle", format: "crankside-normal", migrate: [] },
  /** Which of it is used for which vehicle. */
  normalsUsed: { what: "which own ranges are used", format: null, migrate: [] },
  practiceCase: { what: "the case to practise on", format: "crankside-case", migrate: [] },
  /** Kept by the browser beside the page: changes of a job, facts, a mark, a form, settings. */
  jobDraft: { what: "the draft of a job", format: null, migrate: [] },
  factsDraft: { what: "the draft of complaint and vehicle", format: null, migrate: [] },
  markDraft: { what: "the draft of a mark", format: null, migrate: [] },
  formDraft: { what: "the draft of a form", format: null, migrate: [] },
  settings: { what: "the settings", format: null, migrate: [] },
} as const satisfies Readonly<Record<string, Form>>;

/** The version that is written today. */
export function versionOf(form: Form): number {
  return form.migrate.length + 1;
}

/** The version that stored fields carry: 1 where none is written, null where it is no version. */
export function storedVersion(stored: Fields): number | null {
  const version = stored["version"] ?? 1;
  return typeof version === "number" && Number.isInteger(version) && version >= 1 ? version : null;
}

/** Written by a later version of the program: it is neither read nor written to. */
export function isNewer(form: Form, stored: unknown): boolean {
  return isFields(stored) && (storedVersion(stored) ?? 1) > versionOf(form);
}

/**
 * What is stored, as today's version writes it. Throws `newer-format`. What is none of this form, or bears no version
 * that can be, comes back as it is: the schema of today says what is wrong with it.
 */
export function migrated(form: Form, stored: unknown, where: string): unknown {
  if (!isFields(stored) || (form.format !== null && stored["format"] !== form.format)) return stored;
  const version = storedVersion(stored);
  if (version === null) return stored;
  if (isNewer(form, stored)) throw newer(form, version, where);
  const steps = form.migrate.slice(version - 1);
  if (steps.length === 0) return stored;
  return { ...steps.reduce((fields, step) => step(fields), stored), version: versionOf(form) };
}

function newer(form: Form, version: number, where: string): CranksideError {
  return new CranksideError("newer-format", `${form.what} is of a newer format`, {
    expected: `version ${versionOf(form)} or lower`,
    found: `version ${version}`,
    where,
    advice: "Open it with a newer Crankside; nothing was changed.",
  });
}

export function isFields(value: unknown): value is Fields {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
