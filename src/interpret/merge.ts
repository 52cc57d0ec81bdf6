import type { ChannelStore, Series } from "../../shared/channels.ts";

/** One reading on its way into a fold. NaN stands for asked and not answered. */
export interface Sample {
  readonly channel: string;
  readonly module: string;
  /** Milliseconds since the start. */
  readonly t: number;
  readonly value: number;
}

interface Cursor {
  readonly series: Series;
  next: number;
  /** Columns as they stood when the walk began; `at` is the time of the next reading. */
  times: Float64Array;
  values: Float64Array;
  at: number;
}

/**
 * Walks a growing store in time order, each reading once. The order of channels within one instant is that of
 * their first appearance; folds must not depend on it.
 */
export class StoreWalk {
  readonly #store: ChannelStore;
  readonly #known = new Set<Series>();
  readonly #cursors: Cursor[] = [];

  constructor(store: ChannelStore) {
    this.#store = store;
  }

  /** Hands on every reading with a time below `limit` (milliseconds) that was not handed on before. */
  advance(limit: number, visit: (channel: string, module: string, t: number, value: number) => void): void {
    for (const series of this.#store.all()) {
      if (this.#known.has(series)) continue;
      this.#known.add(series);
      const { times, values } = series;
      this.#cursors.push({ series, next: 0, times, values, at: 0 });
    }
    for (const cursor of this.#cursors) {
      cursor.times = cursor.series.times;
      cursor.values = cursor.series.values;
      cursor.at = cursor.times[cursor.next] ?? Number.POSITIVE_INFINITY;
    }
    for (;;) {
      let first = limit;
      for (const cursor of this.#cursors) if (cursor.at < first) first = cursor.at;
      if (first >= limit) return;
      for (const cursor of this.#cursors) {
        while (cursor.at === first) {
          const value = cursor.values[cursor.next] ?? Number.NaN;
          cursor.next += 1;
          cursor.at = cursor.times[cursor.next] ?? Number.POSITIVE_INFINITY;
          visit(cursor.series.channel, cursor.series.module, first, value);
        }
      }
    }
  }
}
