/** From this many readings on a column grows by a quarter: doubled, hours would lie half empty in memory. */
const growsSlowlyFrom = 65_536;
/** When so much of a file was read, the rest is taken to be like it. */
const surePart = 0.1;

/** How much of all that will come was taken so far, as a part of one; zero: nobody knows. */
interface Progress {
  part: number;
}

/** A channel's readings of one module, as columns. Times are milliseconds since the start, never falling. */
export class Series {
  readonly channel: string;
  readonly module: string;
  readonly #progress: Progress;
  #t = new Float64Array(64);
  #v = new Float64Array(64);
  #length = 0;
  #answered = 0;

  constructor(channel: string, module: string, progress: Progress = { part: 0 }) {
    this.channel = channel;
    this.module = module;
    this.#progress = progress;
  }

  get length(): number {
    return this.#length;
  }

  /** Readings that carry a number: asked-but-unanswered places do not count. */
  get answered(): number {
    return this.#answered;
  }

  /** View on the times, milliseconds; valid until the next append. */
  get times(): Float64Array {
    return this.#t.subarray(0, this.#length);
  }

  /** View on the values in the channel's table unit; NaN where asked and not answered, or the link was lost. */
  get values(): Float64Array {
    return this.#v.subarray(0, this.#length);
  }

  get lastTime(): number {
    return this.#length === 0 ? Number.NEGATIVE_INFINITY : (this.#t[this.#length - 1] ?? 0);
  }

  /** Returns false, and keeps nothing, when `t` lies before the last reading. */
  append(t: number, value: number): boolean {
    if (t < this.lastTime) return false;
    if (this.#length === this.#t.length) this.#grow(this.#length + 1);
    this.#t[this.#length] = t;
    this.#v[this.#length] = value;
    this.#length += 1;
    if (!Number.isNaN(value)) this.#answered += 1;
    return true;
  }

  /**
   * Readings that lie behind those that are there, and how many of all carry a number by then. The columns of a series
   * that held nothing are these ones from now on, not copies.
   */
  extend(t: Float64Array<ArrayBuffer>, v: Float64Array<ArrayBuffer>, answered: number): void {
    const length = this.#length + t.length;
    if (this.#length === 0 && t.length >= this.#t.length) {
      this.#t = t;
      this.#v = v;
    } else {
      if (length > this.#t.length) this.#grow(length);
      this.#t.set(t, this.#length);
      this.#v.set(v, this.#length);
    }
    this.#length = length;
    this.#answered = answered;
  }

  /** Index of the last reading at or before `t`, or -1. */
  indexAt(t: number): number {
    let low = 0;
    let high = this.#length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((this.#t[middle] ?? 0) <= t) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  }

  /** The last reading at or before `t`, NaN places included, or null. */
  at(t: number): { t: number; value: number } | null {
    const i = this.indexAt(t);
    return i < 0 ? null : { t: this.#t[i] ?? 0, value: this.#v[i] ?? Number.NaN };
  }

  /** Answered readings a second over the window (from, to], 0 when there is none. */
  rate(from: number, to: number): number {
    if (to <= from) return 0;
    let count = 0;
    for (let i = this.indexAt(from) + 1; i <= this.indexAt(to); i++) {
      if (!Number.isNaN(this.#v[i] ?? Number.NaN)) count += 1;
    }
    return (count * 1000) / (to - from);
  }

  #grow(least: number): void {
    const { length } = this.#t;
    const capacity = Math.max(
      least,
      length < growsSlowlyFrom ? length * 2 : Math.ceil(length * 1.25),
      this.#progress.part < surePart ? 0 : Math.ceil((length / this.#progress.part) * 1.02),
    );
    const t = new Float64Array(capacity);
    const v = new Float64Array(capacity);
    t.set(this.times);
    v.set(this.values);
    this.#t = t;
    this.#v = v;
  }
}

/** All series of a recording, found by channel and module, in order of first appearance. */
export class ChannelStore {
  readonly #byChannel = new Map<string, Map<string, Series>>();
  readonly #progress: Progress = { part: 0 };

  /** So much of all that will come was taken, as a part of one: columns grow at once to what they will need. */
  reached(part: number): void {
    this.#progress.part = part;
  }

  append(channel: string, module: string, t: number, value: number): boolean {
    return this.series(channel, module).append(t, value);
  }

  /** The series, made if it is new. */
  series(channel: string, module: string): Series {
    const modules = this.#modules(channel);
    let series = modules.get(module);
    if (series === undefined) {
      series = new Series(channel, module, this.#progress);
      modules.set(module, series);
    }
    return series;
  }

  #modules(channel: string): Map<string, Series> {
    let modules = this.#byChannel.get(channel);
    if (modules === undefined) {
      modules = new Map();
      this.#byChannel.set(channel, modules);
    }
    return modules;
  }

  /** The series of a channel: of this module, or of the one that answered most often. */
  find(channel: string, module?: string): Series | undefined {
    const modules = this.#byChannel.get(channel);
    if (modules === undefined) return undefined;
    if (module !== undefined) return modules.get(module);
    let best: Series | undefined;
    for (const series of modules.values())
      if (best === undefined || series.answered > best.answered) best = series;
    return best;
  }

  /** Every module's series of a channel. */
  of(channel: string): Series[] {
    return [...(this.#byChannel.get(channel)?.values() ?? [])];
  }

  get size(): number {
    return this.#byChannel.size;
  }

  get channels(): string[] {
    return [...this.#byChannel.keys()];
  }

  all(): Series[] {
    return [...this.#byChannel.values()].flatMap((modules) => [...modules.values()]);
  }
}
