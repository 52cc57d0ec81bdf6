import type { ChannelStore, Series } from "../../../shared/channels.ts";

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
  /** A heap over the cursors, the earliest next reading first; of equals, the channel that appeared first. */
  #heap = new Int32Array(0);
  /** Time of each cursor's next reading. */
  #at = new Float64Array(0);

  constructor(store: ChannelStore) {
    this.#store = store;
  }

  /** Hands on every reading with a time below `limit` (milliseconds) that was not handed on before. */
  advance(limit: number, visit: (channel: string, module: string, t: number, value: number) => void): void {
    this.#begin();
    const cursors = this.#cursors;
    const heap = this.#heap;
    const at = this.#at;
    for (;;) {
      const i = heap[0] ?? -1;
      const t = at[i] ?? Number.POSITIVE_INFINITY;
      const cursor = cursors[i];
      if (t >= limit || cursor === undefined) return;
      const { series, times, values } = cursor;
      let { next } = cursor;
      do {
        const value = values[next] ?? Number.NaN;
        next += 1;
        visit(series.channel, series.module, t, value);
      } while (times[next] === t);
      cursor.next = next;
      at[i] = times[next] ?? Number.POSITIVE_INFINITY;
      this.#sink(0);
    }
  }

  /** Takes up what the store has got since the last walk. */
  #begin(): void {
    for (const series of this.#store.all()) {
      if (this.#known.has(series)) continue;
      this.#known.add(series);
      this.#cursors.push({ series, next: 0, times: series.times, values: series.values });
    }
    const count = this.#cursors.length;
    if (this.#heap.length !== count) {
      this.#heap = Int32Array.from({ length: count }, (_, i) => i);
      this.#at = new Float64Array(count);
    }
    this.#cursors.forEach((cursor, i) => {
      cursor.times = cursor.series.times;
      cursor.values = cursor.series.values;
      this.#at[i] = cursor.times[cursor.next] ?? Number.POSITIVE_INFINITY;
    });
    for (let place = (count >> 1) - 1; place >= 0; place--) this.#sink(place);
  }

  /** Lets the cursor at this place of the heap go down to where it belongs. */
  #sink(place: number): void {
    const heap = this.#heap;
    const at = this.#at;
    const count = heap.length;
    const moved = heap[place] ?? 0;
    const t = at[moved] ?? 0;
    for (;;) {
      let child = 2 * place + 1;
      if (child >= count) break;
      let best = heap[child] ?? 0;
      let bestT = at[best] ?? 0;
      const other = heap[child + 1] ?? -1;
      const otherT = at[other] ?? Number.NaN;
      if (otherT < bestT || (otherT === bestT && other < best)) {
        child += 1;
        best = other;
        bestT = otherT;
      }
      if (t < bestT || (t === bestT && moved < best)) break;
      heap[place] = best;
      place = child;
    }
    heap[place] = moved;
  }
}
