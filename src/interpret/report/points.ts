/** What a sign points to, in words: causes and hand checks by the one table of each, and what is no fault. */
import { withinSentence } from "../../../shared/letters.ts";
import type { Sign } from "./schema.ts";
import { cautions } from "../causes/tables/cautions.ts";
import { causes, type CauseId } from "../causes/tables/causes.ts";
import { handChecks, type HandCheckId } from "../causes/tables/checks.ts";
import type { CauseRow, HandCheckRow, Often } from "../causes/types.ts";
import { circumstances, type CircumstanceId } from "../tables/circumstances.ts";
import { nextRecordings, type NextRecordingId } from "../tables/nextRecordings.ts";
import type { SignRow } from "../tables/signs/row.ts";

export type LookAlike = CauseId | CircumstanceId;

const rowsById = <R extends { readonly id: string }>(rows: readonly R[]): ReadonlyMap<string, R> =>
  new Map(rows.map((row) => [row.id, row]));
const causeRows = rowsById<CauseRow>(causes);
const checkRows = rowsById<HandCheckRow>(handChecks);

/** A cause is pointed to where the sign multiplies its odds by so much, or more. */
const leastOdds = 2;
/** So many causes are enough to read. */
const most = 7;

const odds = (p: number): number => p / (1 - p);

/** Causes that a sign on this side speaks for, strongest first; then what else it points to, and what is no fault. */
export function pointsTo(row: SignRow, side: "low" | "high" | undefined): readonly LookAlike[] {
  const spoken = new Map<CauseId, number>();
  for (const [of, often] of Object.entries<Often<CauseId>>(row.says?.often ?? {})) {
    if (side !== undefined && (of === "low" || of === "high") && of !== side) continue;
    const { otherwise, ...given } = often;
    for (const [id, p] of Object.entries(given) as [CauseId, number][])
      spoken.set(id, Math.max(spoken.get(id) ?? 0, odds(p) / odds(otherwise)));
  }
  const strongest = [...spoken].filter(([, by]) => by >= leastOdds).sort((a, b) => b[1] - a[1]);
  return [...new Set([...strongest.map(([id]) => id), ...(row.causes ?? []), ...row.also])];
}

const isCircumstance = (id: LookAlike): id is CircumstanceId => Object.hasOwn(circumstances, id);

export function likeText(id: LookAlike): Sign["looksLike"][number] {
  return { id, text: isCircumstance(id) ? circumstances[id] : withinSentence(causeRows.get(id)?.name ?? id) };
}

export function checkText(id: HandCheckId | NextRecordingId): Sign["checks"][number] {
  if (Object.hasOwn(nextRecordings, id)) return { id, ...nextRecordings[id as NextRecordingId] };
  const row = checkRows.get(id);
  if (row === undefined) return { id, text: id };
  const text = `${row.name}. ${row.steps[0] ?? ""}`.trim();
  if (row.caution === "none needed") return { id, text };
  const caution = row.caution.map((c) => cautions[c as keyof typeof cautions].text).join(" ");
  return { id, text, caution };
}

/** The strongest causes, and all that is no fault. */
export function enough(alike: Sign["looksLike"]): Sign["looksLike"] {
  let causesLeft = most;
  return alike.filter(({ id }) => !causeRows.has(id) || causesLeft-- > 0);
}

/** Which vehicles a cause or a hand check that a sign points to is for; undefined: every one. */
export const onlyOf = (id: string): CauseRow["only"] => causeRows.get(id)?.only ?? checkRows.get(id)?.only;
