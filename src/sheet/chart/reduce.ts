/** A stretch of a series as few enough points to draw, with every peak kept. */
import type { Series } from "../../../shared/channels.ts";
import { Extremes } from "./extremes.ts";
import type { Stretch } from "./stretch.ts";

export interface Points {
  /** Strictly rising. */
  readonly t: readonly number[];
  /** null breaks the line: asked and not answered, or no link. */
  readonly v: readonly (number | null)[];
  /** Times of readings that were asked for and not answered; one a column where they stand dense. */
  readonly missed: readonly number[];
  /** The points are the readings themselves, none left out. */
  readonly every: boolean;
  /** Lowest and highest value in the stretch, edges included; NaN when there is none. */
  readonly low: number;
  readonly high: number;
}

const known = new WeakMap<Series, Extremes>();

function extremesOf(series: Series): Extremes {
  let extremes = known.get(series);
  if (extremes === undefined) {
    extremes = new Extremes();
    known.set(series, extremes);
  }
  extremes.extend(series.values);
  return extremes;
}

/** A time that comes twice is moved by this, far below what can be seen, so that times rise strictly. */
const nudgeMs = 1e-5;

class PointList {
  readonly t: number[] = [];
  readonly v: (number | null)[] = [];
  readonly missed: number[] = [];

  add(t: number, v: number | null): void {
    const last = this.t.length === 0 ? Number.NEGATIVE_INFINITY : (this.t[this.t.length - 1] ?? 0);
    this.t.push(t > last ? t : last + nudgeMs);
    this.v.push(v);
  }
}

/**
 * The points of `series` in the stretch, with one reading before and one after it so that lines reach the edges.
 * Where there are more than four readings a column, each column keeps its first, lowest, highest and last.
 */
export function reduce(series: Series, stretch: Stretch, columns: number): Points {
  const { times, values } = series;
  const first = Math.max(0, firstFrom(times, stretch.from, 0, times.length) - 1);
  const end = Math.min(times.length, series.indexAt(stretch.to) + 2);
  const extremes = extremesOf(series);
  const { min, max } = extremes.of(values, first, end);
  const list = new PointList();
  const every = end - first <= columns * 4;
  if (every) copyAll(series, first, end, list);
  else copyColumns(series, { extremes, first, end, stretch, columns }, list);
  return {
    t: list.t,
    v: list.v,
    missed: list.missed,
    every,
    low: min < 0 ? Number.NaN : (values[min] ?? Number.NaN),
    high: max < 0 ? Number.NaN : (values[max] ?? Number.NaN),
  };
}

function copyAll({ times, values }: Series, from: number, to: number, list: PointList): void {
  for (let i = from; i < to; i++) {
    const t = times[i] ?? 0;
    const value = values[i] ?? Number.NaN;
    if (Number.isNaN(value)) {
      list.missed.push(t);
      list.add(t, null);
    } else list.add(t, value);
  }
}

interface Columns {
  readonly extremes: Extremes;
  readonly first: number;
  readonly end: number;
  readonly stretch: Stretch;
  readonly columns: number;
}

function copyColumns(
  series: Series,
  { extremes, first, end, stretch, columns }: Columns,
  list: PointList,
): void {
  const { times, values } = series;
  const width = (stretch.to - stretch.from) / columns;
  let i = first;
  while (i < end) {
    const t = times[i] ?? 0;
    const column = Math.floor((t - stretch.from) / width);
    const edge = stretch.from + (column + 1) * width;
    // Rounding must not stop the walk: a column holds at least the reading it began with.
    const next = Math.max(i + 1, Math.min(end, firstFrom(times, edge, i + 1, end)));
    const { min, max, missed } = extremes.of(values, i, next);
    if (missed) list.missed.push(t);
    const picks = [i, Math.min(min, max), Math.max(min, max), next - 1];
    let last = -1;
    for (const pick of picks) {
      if (pick <= last) continue;
      last = pick;
      const value = values[pick] ?? Number.NaN;
      list.add(times[pick] ?? 0, Number.isNaN(value) ? null : value);
    }
    i = next;
  }
}

/** Index of the first time at or after `edge`, between `from` and `end`; steps grow, as columns are short. */
function firstFrom(times: Float64Array, edge: number, from: number, end: number): number {
  let low = from;
  let step = 1;
  while (low + step < end && (times[low + step] ?? 0) < edge) {
    low += step;
    step *= 2;
  }
  let high = Math.min(end, low + step);
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((times[middle] ?? 0) < edge) low = middle + 1;
    else high = middle;
  }
  return low;
}
