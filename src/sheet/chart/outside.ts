/** Where a trace leaves its plausible range, as few marks that the eye finds: a shape, not a tone alone. Pure. */
import type { Points } from "./reduce.ts";
import type { Stretch } from "./stretch.ts";

/** A stretch of time in which values from `low` to `high` are plausible; either may be infinite. */
export interface Band {
  readonly from: number;
  readonly to: number;
  readonly low: number;
  readonly high: number;
}

/** A reading beyond its band, the one farthest out of its neighbours. */
export interface Outside {
  readonly t: number;
  readonly v: number;
  /** Above the band, else below it. */
  readonly above: boolean;
}

/** Pixels from mark to mark: closer they would run into a line of their own. */
export const outsideSpacing = 13;

/**
 * One mark for each side in each `outsideSpacing` columns: the reading farthest out. Bands come in order of time and do
 * not overlap; times outside every band have no range and no mark.
 */
export function outsideOf(
  { t, v }: Pick<Points, "t" | "v">,
  bands: readonly Band[],
  { stretch, columns }: { readonly stretch: Stretch; readonly columns: number },
): Outside[] {
  if (bands.length === 0) return [];
  const cell = ((stretch.to - stretch.from) / Math.max(1, columns)) * outsideSpacing;
  const marks: Outside[] = [];
  const open: { above: Outside | null; below: Outside | null } = { above: null, below: null };
  let at = 0;
  let cellNow = Number.NaN;
  const close = (): void => {
    for (const mark of [open.above, open.below]) if (mark !== null) marks.push(mark);
    open.above = null;
    open.below = null;
  };
  for (let i = 0; i < t.length; i++) {
    const time = t[i] ?? 0;
    const value = v[i] ?? null;
    if (value === null || time < stretch.from || time > stretch.to) continue;
    while (at < bands.length && (bands[at]?.to ?? 0) <= time) at += 1;
    const band = bands[at];
    if (band === undefined) break;
    if (time < band.from) continue;
    const here = Math.floor((time - stretch.from) / cell);
    if (here !== cellNow) {
      close();
      cellNow = here;
    }
    if (value > band.high && !(open.above !== null && open.above.v >= value))
      open.above = { t: time, v: value, above: true };
    else if (value < band.low && !(open.below !== null && open.below.v <= value))
      open.below = { t: time, v: value, above: false };
  }
  close();
  return marks;
}
