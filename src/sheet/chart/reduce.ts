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
  readonly t: number[];
  readonly v: (number | null)[];
  readonly missed: number[];

  constructor(t: number[] = [], v: (number | null)[] = [], missed: number[] = []) {
    this.t = t;
    this.v = v;
    this.missed = missed;
  }

  add(t: number, v: number | null): void {
    const last = this.t.length === 0 ? Number.NEGATIVE_INFINITY : (this.t[this.t.length - 1] ?? 0);
    this.t.push(t > last ? t : last + nudgeMs);
    this.v.push(v);
  }

  /** The reading of this index. */
  addAt(times: Float64Array, values: Float64Array, i: number): void {
    const value = values[i] ?? Number.NaN;
    this.add(times[i] ?? 0, Number.isNaN(value) ? null : value);
  }
}

/**
 * The points of `series` in the stretch, with one reading before and one after it so that lines reach the edges.
 * Where there are more than four readings a column, each column keeps its lowest and highest, and its first and last
 * where a line ends or leads to a column that is not the next.
 */
export function reduce(series: Series, stretch: Stretch, columns: number): Points {
  const { times, values } = series;
  const first = Math.max(0, firstFrom(times, stretch.from, 0, times.length) - 1);
  const end = Math.min(times.length, series.indexAt(stretch.to) + 2);
  const extremes = extremesOf(series);
  const { min, max } = extremes.of(values, first, end);
  const every = end - first <= columns * 4;
  const list = every ? new PointList() : columnsOf(series, { extremes, first, end, stretch, columns });
  if (every) copyAll(series, first, end, list);
  return {
    t: list.t,
    v: list.v,
    missed: list.missed,
    every,
    low: min < 0 ? Number.NaN : (values[min] ?? Number.NaN),
    high: max < 0 ? Number.NaN : (values[max] ?? Number.NaN),
  };
}

/** A channel that was not asked for so long says nothing of the time between, whatever its own pace. */
const leastSilenceMs = 20_000;
/** Nor after so many of its own intervals. */
const silentIntervals = 8;

/** Longer than this between two readings, and no line joins them. */
function joinedWithin(times: Float64Array, from: number, to: number): number {
  let longest = 0;
  for (let i = from + 1; i < to; i++) longest = Math.max(longest, (times[i] ?? 0) - (times[i - 1] ?? 0));
  if (longest <= leastSilenceMs || to - from < 3) return Number.POSITIVE_INFINITY;
  const steps = times.slice(from + 1, to).map((t, i) => t - (times[from + i] ?? 0));
  steps.sort();
  return Math.max(leastSilenceMs, silentIntervals * (steps[steps.length >> 1] ?? 0));
}

function copyAll({ times, values }: Series, from: number, to: number, list: PointList): void {
  const within = joinedWithin(times, from, to);
  for (let i = from; i < to; i++) {
    const t = times[i] ?? 0;
    const before = times[i - 1] ?? t;
    if (i > from && t - before > within) list.add((before + t) / 2, null);
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

/** The columns before the last one, which nothing that is appended can change. */
interface Settled {
  readonly from: number;
  readonly to: number;
  readonly columns: number;
  /** The points of them and of the last column, which `last` parts. */
  readonly list: PointList;
  readonly last: LastColumn;
}

/** A lane and the strip of the whole recording, and a little room. */
const mostKept = 3;
const settled = new WeakMap<Series, Settled[]>();

/** Of a series that only grows in a stretch that stands still, the last column alone is worked out anew. */
function columnsOf(series: Series, how: Columns): PointList {
  const { stretch, columns, end } = how;
  const all = settled.get(series) ?? [];
  const before = all.find((s) => s.from === stretch.from && s.to === stretch.to && s.columns === columns);
  const known = before !== undefined && before.last.next < end ? before : undefined;
  const list = known === undefined ? new PointList() : settledOf(known);
  const last = copyColumns(series, { ...how, next: known?.last.next ?? how.first }, list);
  const others = all.filter((s) => s !== before).slice(0, mostKept - 1);
  settled.set(series, [{ from: stretch.from, to: stretch.to, columns, list, last }, ...others]);
  return list;
}

/** A list of its own: what was handed out before is not added to. */
function settledOf({ list, last }: Settled): PointList {
  return new PointList(
    list.t.slice(0, last.points),
    list.v.slice(0, last.points),
    list.missed.slice(0, last.missed),
  );
}

/** Where its last column begins: index of the reading, points and missed places before it. */
interface LastColumn {
  readonly next: number;
  readonly points: number;
  readonly missed: number;
}

function copyColumns(
  series: Series,
  { extremes, first, next: begin, end, stretch, columns }: Columns & { readonly next: number },
  list: PointList,
): LastColumn {
  const { times, values } = series;
  const width = (stretch.to - stretch.from) / columns;
  let last: LastColumn = { next: begin, points: list.t.length, missed: list.missed.length };
  let i = begin;
  while (i < end) {
    last = { next: i, points: list.t.length, missed: list.missed.length };
    const t = times[i] ?? 0;
    const column = Math.floor((t - stretch.from) / width);
    const edge = stretch.from + (column + 1) * width;
    // Rounding must not stop the walk: a column holds at least the reading it began with.
    const next = Math.max(i + 1, Math.min(end, firstFrom(times, edge, i + 1, end)));
    const { min, max, missed } = extremes.of(values, i, next);
    if (missed) list.missed.push(t);
    // Places in rising order, each once; the extremes are -1 where the column holds no number.
    const sooner = Math.min(min, max);
    const later = Math.max(min, max);
    // Of a column that the next one touches, where it begins and ends cannot be seen beside its extremes.
    const isInLine = !missed && i > first && (times[next] ?? Number.POSITIVE_INFINITY) < edge + width;
    if (!isInLine) list.addAt(times, values, i);
    if (sooner > i || isInLine) list.addAt(times, values, sooner);
    if (later > Math.max(sooner, isInLine ? -1 : i)) list.addAt(times, values, later);
    if (!isInLine && next - 1 > Math.max(i, later)) list.addAt(times, values, next - 1);
    i = next;
  }
  return last;
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
