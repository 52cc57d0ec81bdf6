/** What a channel did between two cursors, from its readings alone: nothing is invented between them. */
import type { Series } from "../../../../shared/channels.ts";

export interface Measured {
  /** Readings that carry a number, with from <= t <= to. */
  readonly count: number;
  readonly unanswered: number;
  /** Last reading less the first; NaN below two. In the table unit, as all that follow. */
  readonly difference: number;
  readonly mean: number;
  readonly min: number;
  readonly max: number;
  /** Of the straight line that fits best (least squares), units a second; NaN below two times. */
  readonly slope: number;
  /** Readings a second; NaN below two. */
  readonly rate: number;
}

export function measure({ times, values }: Series, from: number, to: number, first: number): Measured {
  let [count, unanswered, sum, min, max] = [0, 0, 0, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  let [begin, end, head, tail] = [Number.NaN, Number.NaN, Number.NaN, Number.NaN];
  // About the middle, so that squares of large times lose nothing.
  const middle = (from + to) / 2;
  let [st, stt, stv] = [0, 0, 0];
  for (let i = Math.max(0, first); i < times.length && (times[i] ?? 0) <= to; i++) {
    const t = times[i] ?? 0;
    const value = values[i] ?? Number.NaN;
    if (t < from) continue;
    if (Number.isNaN(value)) {
      unanswered += 1;
      continue;
    }
    if (count === 0) [begin, head] = [t, value];
    [end, tail] = [t, value];
    count += 1;
    sum += value;
    if (value < min) min = value;
    if (value > max) max = value;
    const s = (t - middle) / 1000;
    st += s;
    stt += s * s;
    stv += s * value;
  }
  const spread = count * stt - st * st;
  return {
    count,
    unanswered,
    difference: count < 2 ? Number.NaN : tail - head,
    mean: count === 0 ? Number.NaN : sum / count,
    min: count === 0 ? Number.NaN : min,
    max: count === 0 ? Number.NaN : max,
    slope: count < 2 || spread <= 0 ? Number.NaN : (count * stv - st * sum) / spread,
    rate: count < 2 || end <= begin ? Number.NaN : ((count - 1) * 1000) / (end - begin),
  };
}

export function measureSeries(series: Series, from: number, to: number): Measured {
  let first = series.indexAt(from);
  while (first > 0 && series.times[first - 1] === from) first -= 1;
  return measure(series, from, to, first);
}
