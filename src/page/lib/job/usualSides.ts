/** Which two are laid side by side to begin with, where there is one of each. Pure. */

interface Listed {
  readonly file: string;
  /** ISO 8601, or null. */
  readonly started: string | null;
  readonly problem: unknown;
}

export interface UsualSides {
  readonly before: string;
  readonly after: string;
}

/**
 * The job's first recording before, its last after; beside one that is none of the job's, the job's nearest earlier or
 * later one. Null where there are not two: both sides are never the same one.
 */
export function usualSides(
  entries: readonly Listed[],
  job: ReadonlySet<string>,
  shown: string,
): UsualSides | null {
  const known = entries.filter(
    (e) => e.problem === null && e.started !== null && (job.has(e.file) || e.file === shown),
  );
  const inTime = known.toSorted((a, b) => Date.parse(a.started ?? "") - Date.parse(b.started ?? ""));
  const [first] = inTime;
  const last = inTime.at(-1);
  if (first === undefined || last === undefined || first.file === last.file) return null;
  return { before: first.file, after: last.file };
}
