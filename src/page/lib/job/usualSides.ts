/** Which two are laid side by side to begin with, where there is one of each. Pure. */
import type { Act } from "../../../interpret/causes/results.ts";
import type { Crank, Window } from "../../../interpret/report/schema.ts";

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

/** What was heard before the first change that helped, and since the last one: of one recording. */
export interface AroundChange {
  readonly before: Window;
  readonly after: Window;
}

interface Heard {
  /** Milliseconds since 1970. */
  readonly started: number;
  /** Milliseconds since its start, as the cranks' times. */
  readonly end: number;
  readonly cranks: readonly Pick<Crank, "from">[];
}

/** Null where nothing that helped was changed while it was recorded. */
export function aroundChange(
  acts: readonly Pick<Act, "at" | "did" | "effect" | "withdrawn">[],
  { started, end, cranks }: Heard,
): AroundChange | null {
  const helped = acts
    .filter((a) => !a.withdrawn && a.did === "changed" && (a.effect === "gone" || a.effect === "better"))
    .map((a) => Date.parse(a.at) - started)
    .filter((at) => at > 0 && at <= end)
    .sort((a, b) => a - b);
  const [first] = helped;
  const last = helped.at(-1);
  if (first === undefined || last === undefined) return null;
  // A change is told once the engine has been tried with it: it lies before that crank, where one was before that.
  const changedAt = (at: number): number => cranks.slice(1).findLast(({ from }) => from < at)?.from ?? at;
  return { before: { from: 0, to: changedAt(first) }, after: { from: changedAt(last), to: end } };
}
