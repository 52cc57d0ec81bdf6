/**
 * Where the lowest and highest readings of a growing series stand, block by block, so that any stretch of a long
 * recording is reduced to the screen's columns without reading all of it. Bounded: about 6 % of the samples' size.
 */
const base = 32;
const fan = 8;
const levels = 6;

/** Kept by index into the series; -1 where a stretch holds no number. */
export interface Extreme {
  min: number;
  max: number;
  /** At least one place in the stretch was asked for and not answered. */
  missed: boolean;
}

class Level {
  readonly size: number;
  count = 0;
  min = new Int32Array(16);
  max = new Int32Array(16);
  missed = new Uint8Array(16);

  constructor(size: number) {
    this.size = size;
  }

  push({ min, max, missed }: Extreme): void {
    if (this.count === this.min.length) {
      this.min = grown(this.min);
      this.max = grown(this.max);
      const more = new Uint8Array(this.count * 2);
      more.set(this.missed);
      this.missed = more;
    }
    this.min[this.count] = min;
    this.max[this.count] = max;
    this.missed[this.count] = missed ? 1 : 0;
    this.count += 1;
  }
}

function grown(array: Int32Array): Int32Array<ArrayBuffer> {
  const more = new Int32Array(array.length * 2);
  more.set(array);
  return more;
}

export class Extremes {
  readonly #levels = Array.from({ length: levels }, (_, i) => new Level(base * fan ** i));

  /** Takes in what was appended since the last call. Earlier values must not have changed. */
  extend(values: Float64Array): void {
    for (const [i, level] of this.#levels.entries()) {
      const below = this.#levels[i - 1];
      const full = Math.floor(values.length / level.size);
      while (level.count < full) {
        const start = level.count * level.size;
        const found: Extreme = { min: -1, max: -1, missed: false };
        if (below === undefined) scan(values, start, start + level.size, found);
        else for (let b = 0; b < fan; b++) take(values, below, start / below.size + b, found);
        level.push(found);
      }
    }
  }

  /** Extremes of the readings from index `from` up to, not including, `to`. */
  of(values: Float64Array, from: number, to: number): Extreme {
    const found: Extreme = { min: -1, max: -1, missed: false };
    let i = from;
    while (i < to) {
      const level = this.#largestBlock(i, to);
      if (level === null) {
        const end = Math.min(to, i - (i % base) + base);
        scan(values, i, end, found);
        i = end;
      } else {
        take(values, level, i / level.size, found);
        i += level.size;
      }
    }
    return found;
  }

  #largestBlock(i: number, to: number): Level | null {
    let best: Level | null = null;
    for (const level of this.#levels) {
      if (i % level.size !== 0 || i + level.size > to || i / level.size >= level.count) break;
      best = level;
    }
    return best;
  }
}

function scan(values: Float64Array, from: number, to: number, found: Extreme): void {
  for (let i = from; i < to; i++) {
    const value = values[i] ?? Number.NaN;
    if (Number.isNaN(value)) found.missed = true;
    else widen(values, i, i, found);
  }
}

function take(values: Float64Array, level: Level, block: number, found: Extreme): void {
  if (level.missed[block] === 1) found.missed = true;
  const min = level.min[block] ?? -1;
  if (min >= 0) widen(values, min, level.max[block] ?? min, found);
}

function widen(values: Float64Array, min: number, max: number, found: Extreme): void {
  if (found.min < 0 || (values[min] ?? 0) < (values[found.min] ?? 0)) found.min = min;
  if (found.max < 0 || (values[max] ?? 0) > (values[found.max] ?? 0)) found.max = max;
}
