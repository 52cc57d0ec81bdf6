/** From this many readings on a column grows by a quarter: doubled, hours would lie half empty in memory. */
const growsSlowlyFrom = 65_536;
/** When so much of a file was read, the rest is taken to be like it. */
const surePart = 0.1;

/** A series as plain values, which can be handed to another thread; the columns have room behind `length`. */
export interface PackedSeries {
  readonly channel: string;
  readonly module: string;
  readonly t: Float64Array<ArrayBuffer>;
  readonly v: Float64Array<ArrayBuffer>;
  readonly length: number;
  readonly answered: number;
}

/** How much of all that will come was taken so far, as a part of one; zero: nobody knows. */
interface Progress {
  part: number;
}

/** A channel's readings of one module, as columns. Times are milliseconds since the start, never falling. */
export class Series {
  readonly channel: string;
  readonly module: string;
  readonly #progress: Progress;
  #t: Float64Array<ArrayBuffer>;
  #v: Float64Array<ArrayBuffer>;
  #length: number;
  #answered: number;

  constructor(channel: string, module: string, how: { progress?: Progress; packed?: PackedSeries } = {}) {
    const { progress = { part: 0 }, packed } = how;
    this.channel = channel;
    this.module = module;
    this.#progress = progress;
    this.#t = packed?.t ?? new Float64Array(64);
    this.#v = packed?.v ?? new Float64Array(64);
    this.#length = packed?.length ?? 0;
    this.#answered = packed?.answered ?? 0;
  }

  /** The columns themselves, not copies: handed over, they are gone here. */
  pack(): PackedSeries {
    const { channel, module } = this;
    return { channel, module, t: this.#t, v: this.#v, length: this.#length, answered: this.#answered };
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
    if (this.#length === this.#t.length) this.#grow();
    this.#t[this.#length] = t;
    this.#v[this.#length] = value;
    this.#length += 1;
    if (!Number.isNaN(value)) this.#answered += 1;
    return true;
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

  #grow(): void {
    const { length } = this.#t;
    const capacity = Math.max(
      length < growsSlowlyFrom ? length * 2 : Math.ceil(length * 1.25),
      this.#progress.part < surePart ? 0 : Math.ceil((length / this.#progress.part) * 1.02),
    );
    const t = new Float64Array(capacity);
    const v = new Float64Array(capacity);
    t.set(this.#t);
    v.set(this.#v);
    this.#t = t;
    this.#v = v;
  }
}

/** All series of a recording, found by channel and module, in order of first appearance. */
export class ChannelStore {
  readonly #byChannel = new Map<string, Map<string, Series>>();
  readonly #progress: Progress = { part: 0 };

  /** `packed`: what was packed elsewhere, in its order; its columns are taken as they are. */
  constructor(packed: readonly PackedSeries[] = []) {
    for (const one of packed) {
      const series = new Series(one.channel, one.module, { progress: this.#progress, packed: one });
      this.#modules(one.channel).set(one.module, series);
    }
  }

  pack(): PackedSeries[] {
    return this.all().map((series) => series.pack());
  }

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
      series = new Series(channel, module, { progress: this.#progress });
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

  get channels(): string[] {
    return [...this.#byChannel.keys()];
  }

  all(): Series[] {
    return [...this.#byChannel.values()].flatMap((modules) => [...modules.values()]);
  }
}
