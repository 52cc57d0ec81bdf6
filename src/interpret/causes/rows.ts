/** Rows of the tables by their ids, for who shows them. */
import { plainCheck } from "./advice.ts";
import { causes } from "./tables/causes.ts";
import { handChecks } from "./tables/checks.ts";
import type { CauseRow, HandCheckRow } from "./types.ts";

const checks: ReadonlyMap<string, HandCheckRow> = new Map(
  (handChecks as readonly HandCheckRow[]).map((row) => [row.id, row]),
);
const causeRows: ReadonlyMap<string, CauseRow> = new Map(
  (causes as readonly CauseRow[]).map((row) => [row.id, row]),
);

export const checkRow = (id: string): HandCheckRow | undefined => checks.get(id);
export const causeRow = (id: string): CauseRow | undefined => causeRows.get(id);

/** Ids and names of all hand checks, by name. */
export const checkNames: readonly (readonly [id: string, name: string])[] = [...checks.values()]
  .map((row) => [row.id, row.name] as const)
  .sort((a, b) => (a[1] < b[1] ? -1 : 1));

/** A check with its outcomes, without what it would do to the order; null where there is none of that id. */
export function adviceCheck(
  id: string,
): (ReturnType<typeof plainCheck> & Pick<HandCheckRow, "outcomes">) | null {
  const row = checks.get(id);
  return row === undefined ? null : { ...plainCheck(row), outcomes: row.outcomes };
}
