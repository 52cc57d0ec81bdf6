import { around, clampStretch, following, pan, timeAt, whole, zoom, type Stretch } from "./chart/index.ts";

export interface Paper {
  /** The recording's time now: the live end, or the end of a finished one. */
  now(): number;
  readonly live: boolean;
  readonly version: number;
}

/** Which stretch of the paper is seen, whether it follows the live end, and where the cursor stands. */
export class View {
  readonly #paper: Paper;
  /** null: the whole recording, however long it gets. */
  #held: Stretch | null = $state.raw(null);
  /** Holds while the paper is live; a finished one has no live end. */
  #following = $state(true);
  #span = $state(45_000);
  #beat = $state(0);
  #cursor: number | null = $state(null);
  #pinned = $state(false);
  #pulling: { from: number; to: number } | null = $state.raw(null);
  readonly #stretch: Stretch = $derived.by(() => {
    void this.#paper.version;
    void this.#beat;
    if (this.#following && this.#paper.live) return following(this.#paper.now(), this.#span);
    return this.#held ?? whole(this.#paper.now());
  });

  constructor(paper: Paper, spanMs: number) {
    this.#paper = paper;
    this.#span = spanMs;
  }

  get stretch(): Stretch {
    return this.#stretch;
  }

  get following(): boolean {
    return this.#following && this.#paper.live;
  }

  get spanMs(): number {
    return this.#span;
  }

  get cursor(): number | null {
    return this.#cursor;
  }

  /** The part of the plot that is being pulled out to zoom to. */
  get pulling(): { from: number; to: number } | null {
    return this.#pulling;
  }

  /** The time that readouts are for: the cursor, else the live end, else the right edge. */
  get readingTime(): number {
    void this.#paper.version;
    void this.#beat;
    return (
      this.#cursor ?? (this.following ? this.#paper.now() : Math.min(this.stretch.to, this.#paper.now()))
    );
  }

  /** Time went on without a reading: what follows the live end moves all the same. */
  beat(): void {
    this.#beat += 1;
  }

  follow(): void {
    this.#following = true;
    this.#held = null;
    this.release();
  }

  whole(): void {
    this.#following = false;
    this.#held = null;
  }

  pan(part: number): void {
    this.#hold(pan(this.stretch, part, this.#paper.now()));
  }

  /** While it follows, zooming changes how much is seen and the live end stays in view. */
  zoom(factor: number, part: number): void {
    if (this.following) {
      this.#span = Math.min(
        Math.max(this.#span * factor, 2000),
        Math.max(10_000, whole(this.#paper.now()).to),
      );
      return;
    }
    this.#hold(zoom(this.stretch, factor, timeAt(part, this.stretch), this.#paper.now()));
  }

  show(from: number, to: number): void {
    this.#hold(clampStretch({ from, to }, this.#paper.now()));
  }

  /** Brings an instant or interval into view with some of what is around it. */
  goTo(from: number, to = from): void {
    const { stretch } = this;
    if (to > from) this.#hold(around(from, to, this.#paper.now()));
    else {
      const half = (stretch.to - stretch.from) / 2;
      if (from < stretch.from || from > stretch.to) this.show(from - half, from + half);
      else this.#hold(stretch);
    }
    this.pin(from);
  }

  pull(parts: { from: number; to: number } | null): void {
    this.#pulling = parts;
  }

  pulled(parts: { from: number; to: number }): void {
    const { stretch } = this;
    this.show(timeAt(parts.from, stretch), timeAt(parts.to, stretch));
  }

  hover(part: number | null): void {
    if (this.#pinned) return;
    this.#cursor = part === null || part < 0 || part > 1 ? null : timeAt(part, this.stretch);
  }

  /** Holds the cursor at a time until it is released. */
  pin(t: number): void {
    this.#pinned = true;
    this.#cursor = Math.max(0, t);
  }

  tap(part: number): void {
    const t = timeAt(part, this.stretch);
    if (this.#pinned) this.#pinned = false;
    else this.#pinned = true;
    this.#cursor = Math.max(0, t);
  }

  get pinned(): boolean {
    return this.#pinned;
  }

  release(): void {
    this.#pinned = false;
    this.#cursor = null;
  }

  #hold(stretch: Stretch): void {
    this.#following = false;
    this.#held = stretch;
  }
}
