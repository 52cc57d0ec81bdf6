/** When a change had taken the fault away: what is seen then is the mended vehicle. */
import type { Act, Log } from "./results.ts";
import { checkActs } from "./tables/acts.ts";

export const standing = (log: Log): readonly Act[] => log.acts.filter((a) => !a.withdrawn);

export interface Away {
  /** The cause that was changed; null when a check changed something for several. */
  readonly cause: string | null;
  /** The check that changed it, and the one that undoes it. */
  readonly check: string | null;
  readonly undo: string | null;
  /** It was undone, and the fault stayed away. */
  readonly undone: boolean;
}

interface Change {
  /** Milliseconds since 1970. */
  readonly at: number;
  readonly cause: string | null;
  readonly check: string | null;
  readonly did: Act["did"];
  readonly effect: string;
}

/** Everything that left the vehicle changed, oldest first. Checks whose effect ends with them do not count. */
function changesOf(log: Log): Change[] {
  const acts = standing(log)
    .filter((a) => a.effect !== "unclear")
    .map((a) => ({ at: Date.parse(a.at), cause: a.cause, check: null, did: a.did, effect: a.effect }));
  const checks = log.results.flatMap((r) => {
    const row =
      r.state === "used" ? checkActs.find((a) => a.check === r.check && a.outcome === r.outcome) : undefined;
    if (row === undefined || (row.did === "changed" && row.undo === undefined)) return [];
    return [{ at: Date.parse(r.at), cause: null, check: row.check, did: row.did, effect: row.effect }];
  });
  return [...acts, ...checks].sort((a, b) => a.at - b.at);
}

/** Whether a change had taken the fault away at that time: a recording from then shows the mended vehicle. */
export function awayAt(log: Log, at: number): boolean {
  const last = changesOf(log).findLast((c) => c.at <= at && c.effect !== "better");
  return last !== undefined && (last.effect === "gone" || last.effect === "still-gone");
}

/** Whether the last change left the vehicle without its fault. */
export function awayNow(log: Log): Away | null {
  const last = changesOf(log).at(-1);
  if (last === undefined) return null;
  const undo = checkActs.find((a) => a.check === last.check && a.effect === "gone")?.undo ?? null;
  const { cause, check } = last;
  if (last.effect === "gone") return { cause, check, undo, undone: false };
  return last.effect === "still-gone" ? { cause, check, undo: null, undone: true } : null;
}
