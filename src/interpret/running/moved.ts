/** A part moved to another cylinder, by its mark: which cylinder stood out before it, and which after. */
import { everyOnePulls } from "./balance.ts";
import type { Context } from "../folds/context.ts";
import type { MisfireCounts } from "./misfire.ts";
import type { Move } from "../report/schema.ts";
import type { Balances } from "./unplugged.ts";

type Named = Pick<Move, "part" | "back" | "cylinders">;

const parts = [
  ["coil", /\bcoils?\b/i],
  ["injector", /\binjectors?\b/i],
  ["plug", /\b(?:spark )?plugs?\b/i],
] as const;
const moving =
  /\bmoved?\b|\bswapped\b|\bexchanged\b|\bchanged (?:over|for each other)\b|\bput (?:in|on|back)\b/i;

/** What a label says was moved: "coil moved to cylinder 3", "injectors 1 and 3 swapped", "coil moved back". */
export function movedPart(label: string): Named | null {
  const part = parts.find(([, words]) => words.test(label))?.[0];
  if (part === undefined || !moving.test(label)) return null;
  const cylinders = [...label.matchAll(/\b\d{1,2}\b/g)].map(Number).filter((n) => n >= 1 && n <= 16);
  const back = /\bback\b/i.test(label);
  return cylinders.length === 0 && !back ? null : { part, back, cylinders };
}

/** By what it is seen which cylinder stands out. */
export interface Seen {
  readonly misfire: MisfireCounts;
  readonly balances: Balances;
}

/** Every marked move, each seen between the move before it and the one after it. */
export function movesOf(context: Context, { misfire, balances }: Seen): Move[] {
  const marks = context.source.marks
    .flatMap((mark) => {
      const named = movedPart(mark.label);
      return named === null || mark.at > context.until ? [] : [{ mark, named }];
    })
    .sort((a, b) => a.mark.at - b.mark.at);
  const standing = (from: number, to: number): Move["before"] => {
    const cylinder = misfire.standsOut(from, to, context);
    if (cylinder !== undefined) return { cylinder, by: "counters" };
    const balance = balances.of(context, { from, to });
    if (balance === null) return null;
    if (balance.dead !== null) return { cylinder: balance.dead, by: "unplugged in turn" };
    return everyOnePulls(balance) ? { cylinder: null, by: "unplugged in turn" } : null;
  };
  return marks.map(({ mark, named }, i) => ({
    markId: mark.id,
    label: mark.label,
    at: mark.at,
    ...named,
    before: standing(marks[i - 1]?.mark.at ?? 0, mark.at),
    after: standing(mark.until ?? mark.at, marks[i + 1]?.mark.at ?? Number.POSITIVE_INFINITY),
  }));
}
