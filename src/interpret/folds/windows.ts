import type { ChannelStore, Series } from "../../../shared/channels.ts";
import type { Counted } from "../report/schema.ts";
import { mean, median } from "../maths/stats.ts";

export interface TimedValues {
  readonly times: number[];
  readonly values: number[];
}

/** The series that counts for a channel: the module that answered first, the lowest address in a tie. */
export function ownSeries(store: ChannelStore, channel: string): Series | undefined {
  let best: { series: Series; t: number } | undefined;
  for (const series of store.of(channel)) {
    const first = series.values.findIndex((v) => !Number.isNaN(v));
    if (first < 0) continue;
    const t = series.times[first] ?? 0;
    if (best === undefined || t < best.t || (t === best.t && series.module < best.series.module))
      best = { series, t };
  }
  return best?.series;
}

/** Answered readings with from <= t <= to. */
export function between(series: Series | undefined, from: number, to: number): TimedValues {
  const times: number[] = [];
  const values: number[] = [];
  if (series === undefined) return { times, values };
  const allTimes = series.times;
  const allValues = series.values;
  let i = series.indexAt(from);
  while (i >= 0 && allTimes[i] === from) i -= 1;
  for (i += 1; i < allTimes.length; i++) {
    const t = allTimes[i] ?? 0;
    if (t > to) break;
    const v = allValues[i] ?? Number.NaN;
    if (Number.isNaN(v)) continue;
    times.push(t);
    values.push(v);
  }
  return { times, values };
}

/** The last answered reading at or before `t`, not older than `withinMs`. */
export function lastBefore(
  series: Series | undefined,
  t: number,
  withinMs: number,
): { t: number; value: number } | null {
  if (series === undefined) return null;
  const { times, values } = series;
  for (let i = series.indexAt(t); i >= 0; i--) {
    const at = times[i] ?? 0;
    if (t - at > withinMs) return null;
    const value = values[i] ?? Number.NaN;
    if (!Number.isNaN(value)) return { t: at, value };
  }
  return null;
}

/** Typical time between readings about a window, milliseconds; infinite where there are fewer than two. */
export function interval(series: Series | undefined, from: number, to: number): number {
  const { times } = between(series, from, to);
  const first = times[0];
  const last = times.at(-1);
  if (first === undefined || last === undefined || times.length < 2) return Number.POSITIVE_INFINITY;
  return (last - first) / (times.length - 1);
}

export function countedMedian(values: readonly number[]): Counted {
  return values.length === 0 ? null : { value: median(values), samples: values.length };
}

export function countedMean(values: readonly number[]): Counted {
  return values.length === 0 ? null : { value: mean(values), samples: values.length };
}
