import type { HeldRange } from "./ranges.ts";
import type { Family, Measured, Sign, SignRange, Verdict, Window } from "./schema.ts";
import { signRow, type SignId } from "../tables/signs.ts";
import type { SignRow } from "../tables/signs/row.ts";
import { checkText, likeText, pointsTo, type LookAlike } from "./points.ts";

export type Side = "low" | "high";

/**
 * Where a value lies. `uncertainty` is the half width of what the value could also be: only what lies beyond an
 * edge by more than that is outside.
 */
export function judge(
  value: number,
  range: Pick<HeldRange, "low" | "high" | "margin">,
  uncertainty = 0,
): { verdict: Verdict; side: Side } {
  const below = range.low === null ? Number.NEGATIVE_INFINITY : range.low - value;
  const above = range.high === null ? Number.NEGATIVE_INFINITY : value - range.high;
  const side: Side = below > above ? "low" : "high";
  const beyond = Math.max(below, above);
  if (Number.isNaN(value)) return { verdict: "cannot-tell", side };
  if (beyond > uncertainty) return { verdict: "outside", side };
  return { verdict: beyond > -range.margin ? "near" : "within", side };
}

export interface SignParts {
  readonly verdict: Verdict;
  readonly side?: Side;
  /** What tells this sign from another of the same id: "b1/idle". */
  readonly of?: string;
  readonly windows?: readonly Window[];
  readonly channels?: readonly string[];
  readonly measured?: Measured | null;
  readonly range?: SignRange | null;
  readonly note?: string | undefined;
  /** In place of the table's sentence, where the evidence says more. */
  readonly meaning?: string;
  readonly bank?: number;
  readonly cylinder?: number;
  /** Put first among the look-alikes. */
  readonly looksLike?: readonly LookAlike[];
  /** Taken out: what the evidence excludes. */
  readonly excluded?: readonly LookAlike[];
}

/** A sign from its row in the table and what was found. */
export function makeSign(id: SignId, parts: SignParts): Sign {
  const row: SignRow = signRow(id);
  const alike = [...new Set([...(parts.looksLike ?? []), ...pointsTo(row, parts.side)])].filter(
    (a) => parts.excluded?.includes(a) !== true,
  );
  const settled = parts.verdict === "within";
  const note = parts.verdict === "cannot-tell" ? (parts.note ?? needs(row)) : parts.note;
  return {
    id,
    family: id.slice(0, id.indexOf(".")) as Family,
    key: parts.of === undefined ? id : `${id}/${parts.of}`,
    verdict: parts.verdict,
    ...(parts.side === undefined || !sided(parts) ? {} : { side: parts.side }),
    title: row.title,
    windows: (parts.windows ?? []).map(({ from, to }) => ({ from, to })),
    channels: [...(parts.channels ?? [])],
    measured: parts.measured ?? null,
    range: parts.range === undefined || parts.range === null ? null : bare(parts.range),
    meaning: parts.meaning ?? meaning(row, parts),
    ...(note === undefined || note === "" ? {} : { note }),
    ...(parts.bank === undefined ? {} : { bank: parts.bank }),
    ...(parts.cylinder === undefined ? {} : { cylinder: parts.cylinder }),
    looksLike: settled ? [] : alike.map(likeText),
    checks: settled ? [] : row.checks.map(checkText),
  };
}

function sided({ verdict }: SignParts): boolean {
  return verdict === "outside" || verdict === "near";
}

function meaning(row: SignRow, parts: SignParts): string {
  switch (parts.verdict) {
    case "within":
      return row.within;
    case "cannot-tell":
      return "Not enough to judge.";
    case "near":
    case "outside":
      return (parts.side === undefined ? undefined : row[parts.side]) ?? row.outside;
  }
}

function needs(row: SignRow): string {
  return row.needs === "" ? "" : `Needs ${row.needs}.`;
}

function bare(range: SignRange): SignRange {
  const { low, high, unit, source, replaced } = range;
  return { low, high, unit, source, replaced };
}
