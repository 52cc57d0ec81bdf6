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
}

const beyond = Number.POSITIVE_INFINITY;

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
      this.#cursors.push({ series, next: 0 });
    }
    const cursors = this.#cursors;
    const columns = cursors.map(({ series }) => ({ times: series.times, values: series.values }));
    // The time of each cursor's next reading; a series that has no more stands beyond all.
    const coming = Float64Array.from(cursors, ({ next }, i) => columns[i]?.times[next] ?? beyond);
    for (;;) {
      let first = limit;
      for (let i = 0; i < coming.length; i++) {
        const t = coming[i] ?? beyond;
        if (t < first) first = t;
      }
      if (first >= limit) return;
      for (let i = 0; i < coming.length; i++) {
        if (coming[i] !== first) continue;
        const cursor = cursors[i];
        const column = columns[i];
        if (cursor === undefined || column === undefined) continue;
        const { channel, module } = cursor.series;
        while (column.times[cursor.next] === first) {
          visit(channel, module, first, column.values[cursor.next] ?? Number.NaN);
          cursor.next += 1;
        }
        coming[i] = column.times[cursor.next] ?? beyond;
      }
    }
  }
}
