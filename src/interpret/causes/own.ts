/**
 * A shop's own proved cases, as counts beside the weights of the tables: share = (worth x weight + count) / (worth + cases), the
 * mean of a Dirichlet distribution. Counts go by complaint alone: what was seen of this vehicle is evidence already, and would
 * count twice. Pure.
 */
import { complaintWords, type Complaint } from "./types.ts";

/** A job that ended with a proved cause. */
export interface OwnCase {
  readonly id: string;
  readonly complaints: readonly string[];
  /** Ids of signs that were outside their range in its recordings. */
  readonly signs: readonly string[];
  /** Id in the table. */
  readonly cause: string;
}

export interface OwnCases {
  readonly cases: readonly OwnCase[];
  /** So many cases the tables are worth. */
  readonly worth: number;
}

/** The causes of a model, and where each stands. */
interface Places {
  readonly causes: { readonly length: number };
  readonly place: ReadonlyMap<string, number>;
}

/** Own cases of a complaint by the cause's place; those of causes that cannot be here are left out. */
export function ownCounts(
  model: Places,
  complaint: Complaint,
  { cases }: OwnCases,
  possible: (place: number) => boolean,
): Float64Array {
  const counts = new Float64Array(model.causes.length);
  for (const { complaints, cause } of cases) {
    const place = model.place.get(cause);
    if (place === undefined || !complaints.includes(complaint) || !possible(place)) continue;
    counts[place] = (counts[place] ?? 0) + 1;
  }
  return counts;
}

/** Shares of the tables that sum to one, and counts beside them. */
export function withOwn(shares: readonly number[], counts: Float64Array, worth: number): number[] {
  const cases = counts.reduce((a, b) => a + b, 0);
  if (cases === 0) return [...shares];
  return shares.map((share, i) => (worth * share + (counts[i] ?? 0)) / (worth + cases));
}

const listed = 2;

/**
 * "In 14 of your cases of a no-start with "No crank speed": 9 crank sensor plug, 3 crank sensor, 2 others." Of the signs that
 * are there now the one that most cases of this cause had; null where there is no such case.
 */
export function ownWords(
  cause: string,
  now: { readonly complaints: readonly Complaint[]; readonly signs: ReadonlyMap<string, string> },
  { cases }: OwnCases,
  nameOf: (cause: string) => string,
): string | null {
  let best: { of: readonly OwnCase[]; mine: number; about: string } | null = null;
  for (const complaint of now.complaints) {
    const same = cases.filter((c) => c.complaints.includes(complaint));
    const about = `"${complaintWords[complaint]}"`;
    const places = [
      ...[...now.signs].map(([id, title]) => ({
        of: same.filter((c) => c.signs.includes(id)),
        about: `${about} with "${title}"`,
      })),
      { of: same, about },
    ];
    for (const place of places) {
      const mine = place.of.filter((c) => c.cause === cause).length;
      if (mine > (best?.mine ?? 0)) best = { ...place, mine };
    }
  }
  if (best === null) return null;
  const counts = new Map<string, number>();
  for (const c of best.of) counts.set(c.cause, (counts.get(c.cause) ?? 0) + 1);
  const others = [...counts]
    .filter(([id]) => id !== cause)
    .sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  const told = [[cause, best.mine] as const, ...others.slice(0, listed)].map(
    ([id, n]) => `${n} ${nameOf(id)}`,
  );
  const rest = others.slice(listed).reduce((sum, [, n]) => sum + n, 0);
  return `Of ${best.of.length} own ${best.of.length === 1 ? "case" : "cases"} of ${best.about}: ${[...told, ...(rest === 0 ? [] : [`${rest} other`])].join(", ")}.`;
}
