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
    const open = this.#cursors
      .map((cursor) => ({ cursor, times: cursor.series.times, values: cursor.series.values }))
      .filter((o) => o.cursor.next < o.times.length);
    while (open.length > 0) {
      let first = limit;
      for (const o of open) {
        const t = o.times[o.cursor.next] ?? Number.POSITIVE_INFINITY;
        if (t < first) first = t;
      }
      if (first >= limit) return;
      for (let i = 0; i < open.length; i++) {
        const o = open[i];
        if (o === undefined) continue;
        while (o.times[o.cursor.next] === first) {
          visit(
            o.cursor.series.channel,
            o.cursor.series.module,
            first,
            o.values[o.cursor.next] ?? Number.NaN,
          );
          o.cursor.next += 1;
        }
        if (o.cursor.next >= o.times.length) open.splice(i--, 1);
      }
    }
  }
}
