/** Whether drawing a lane anew would change what is seen of it. Pure. */
import type { LanePicture, Trace } from "../../../sheet/chart/picture.ts";

/**
 * True where both pictures come out the same: all that is drawn is equal, but for readings in the newest column of
 * pixels that lie between the highest and the lowest one there. `ratio`: device pixels to one of the page's.
 */
export function samePixels(a: LanePicture, b: LanePicture, ratio: number): boolean {
  if (a === b) return true;
  return (
    a.stretch.from === b.stretch.from &&
    a.stretch.to === b.stretch.to &&
    a.width === b.width &&
    a.height === b.height &&
    a.axisWidth === b.axisWidth &&
    a.axis.min === b.axis.min &&
    a.axis.max === b.axis.max &&
    equal(a.tickTexts, b.tickTexts) &&
    equal(a.axis.ticks, b.axis.ticks) &&
    equal(a.timeTicks, b.timeTicks) &&
    equalRows(a.bands, b.bands, ["from", "to", "low", "high"]) &&
    a.traces.length === b.traces.length &&
    a.traces.every((trace, i) => {
      const other = b.traces[i];
      return other !== undefined && sameTrace(trace, other, { picture: a, ratio });
    })
  );
}

function equal(a: readonly unknown[], b: readonly unknown[]): boolean {
  return a === b || (a.length === b.length && a.every((value, i) => value === b[i]));
}

function equalRows<T>(a: readonly T[], b: readonly T[], keys: readonly (keyof T)[]): boolean {
  return a.length === b.length && a.every((row, i) => keys.every((key) => row[key] === b[i]?.[key]));
}

interface Place {
  readonly picture: LanePicture;
  readonly ratio: number;
}

function sameTrace(a: Trace, b: Trace, place: Place): boolean {
  return (
    a.colour === b.colour &&
    a.stepped === b.stepped &&
    a.bare === b.bare &&
    a.under === b.under &&
    equal(a.dots, b.dots) &&
    equal(a.points.missed, b.points.missed) &&
    equalRows(a.outside, b.outside, ["t", "v", "above"]) &&
    samePoints(a.points, b.points, place)
  );
}

type Points = Pick<Trace["points"], "t" | "v">;

function samePoints(a: Points, b: Points, { picture, ratio }: Place): boolean {
  if (a.t === b.t && a.v === b.v) return true;
  const { stretch, width, height, axis } = picture;
  const columnOf = (t: number): number =>
    Math.floor(((t - stretch.from) / (stretch.to - stretch.from)) * width * ratio);
  const last = columnOf(b.t.at(-1) ?? Number.NaN);
  if (last !== columnOf(a.t.at(-1) ?? Number.NaN)) return false;
  const before = b.t.findLastIndex((t) => columnOf(t) < last) + 1;
  for (let i = 0; i < before; i++) if (a.t[i] !== b.t[i] || a.v[i] !== b.v[i]) return false;
  const rowOf = (v: number): number => Math.round(((v - axis.min) / (axis.max - axis.min)) * height * ratio);
  const [one, other] = [extent(a, before, columnOf, last), extent(b, before, columnOf, last)];
  if (one === null || other === null) return false;
  return rowOf(one.low) === rowOf(other.low) && rowOf(one.high) === rowOf(other.high);
}

/** Lowest and highest of the points from `first` on; null where there is none, a break, or one of another column. */
function extent(
  { t, v }: Points,
  first: number,
  columnOf: (t: number) => number,
  column: number,
): { low: number; high: number } | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = first; i < v.length; i++) {
    const value = v[i] ?? null;
    if (value === null || columnOf(t[i] ?? Number.NaN) !== column) return null;
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  return low > high ? null : { low, high };
}
