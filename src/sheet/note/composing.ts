import type { UnitSystem } from "../../../shared/units.ts";
import type { Sources } from "../tied.ts";
import type { JobDocument } from "../job.ts";

export const benchWords = "bench vehicle, invented data";
export const inventedWords = "invented data";

/** What the composing of each part needs. */
export interface Composing {
  readonly job: JobDocument;
  readonly sources: Sources;
  readonly system: UnitSystem;
  /** Hides in texts that come from recordings what is hidden in the job. */
  readonly mask: (text: string) => string;
  readonly invented: string | null;
}

/** "2024-05-31 07:04", as it was written, in its own zone. */
export function dateText(iso: string): string {
  const match = /^(\d{4}-\d\d-\d\d)T(\d\d:\d\d)/.exec(iso);
  return match === null ? iso : `${match[1]} ${match[2]}`;
}
