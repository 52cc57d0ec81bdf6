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
  /** Columns as they stood when the walk began. */
  times: Float64Array;
  values: Float64Array;
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
      this.#cursors.push({ series, next: 0, times, values });
    }
    const cursors = this.#cursors;
    // Time of each cursor's next reading.
    const at = new Float64Array(cursors.length);
    cursors.forEach((cursor, i) => {
      cursor.times = cursor.series.times;
      cursor.values = cursor.series.values;
      at[i] = cursor.times[cursor.next] ?? Number.POSITIVE_INFINITY;
    });
    for (;;) {
      let first = limit;
      for (const t of at) if (t < first) first = t;
      if (first >= limit) return;
      for (let i = 0; i < at.length; i++) {
        if (at[i] !== first) continue;
        const cursor = cursors[i];
        if (cursor === undefined) continue;
        do {
          const value = cursor.values[cursor.next] ?? Number.NaN;
          cursor.next += 1;
          at[i] = cursor.times[cursor.next] ?? Number.POSITIVE_INFINITY;
          visit(cursor.series.channel, cursor.series.module, first, value);
        } while (at[i] === first);
      }
    }
  }
}
