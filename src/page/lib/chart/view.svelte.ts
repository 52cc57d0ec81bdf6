import type { Clock } from "../../../../shared/clock.ts";
import type { ToldCrank } from "../../../analyst/index.ts";
import { crankStretch } from "./crankScale.ts";
import { broughtBy, clampStretch, following, pan, timeAt, whole, zoom, type Stretch } from "./index.ts";

/** Figures that move faster than this cannot be read. */
const calmMs = 250;
/** So long figures stand while a hand moves the paper; the paper itself follows at once. */
const standMs = 400;

export interface Paper {
  /** The recording's time as of this frame: the live end, or the end of a finished one. */
  readonly end: number;
  /** The same, renewed a few times a second only. */
  readonly calm: { readonly end: number };
  readonly live: boolean;
  /** The crank that goes on or went last, while it is live. */
  readonly crank?: ToldCrank | null;
}

/** Which stretch of the paper is seen, whether it follows the live end, and where the cursor stands. */
export class View {
  readonly #paper: Paper;
  readonly #clock: Clock;
  /** null: the whole recording, however long it gets. */
  #held: Stretch | null = $state.raw(null);
  /** Holds while the paper is live; a finished one has no live end. */
  #following = $state(true);
  #span = $state(45_000);
  #columns = $state(600);
  /** Where the hand hovers, as a part of the plot; the paper may move under it. */
  #hover: number | null = $state(null);
  /** Where the cursor is held. */
  #pin: number | null = $state(null);
  /** The other end of what is measured, while something is. */
  #anchor: number | null = $state(null);
  /** The time that figures stand for while the paper is moved; null while it lies still. */
  #stands: number | null = $state(null);
  #standing = false;
  #movedOn = false;
  /** The cursor is moved through the recording by itself. */
  #playing = $state(false);
  #pulling: { from: number; to: number } | null = $state.raw(null);
  /** A number, which is the same until the paper moves by a column; a stretch would be a new one in each frame. */
  readonly #followedTo: number = $derived.by(() => following(this.#paper.end, this.#span, this.#columns).to);
  /** As text, so that it is the same value until the paper of a crank ends, or grows. */
  readonly #crankEnds: string = $derived.by(() => {
    const { crank = null } = this.#paper;
    const stretch = crank === null ? null : crankStretch(crank.crank, crank.now);
    return stretch === null ? "" : `${stretch.from} ${stretch.to}`;
  });
  readonly #stretch: Stretch = $derived.by(() => {
    const { live } = this.#paper;
    if (this.cranking) {
      const [from = 0, to = 0] = this.#crankEnds.split(" ").map(Number);
      return { from, to };
    }
    if (this.#following && live) return { from: this.#followedTo - this.#span, to: this.#followedTo };
    // A growing whole has room at its end: it need not move with each reading.
    return this.#held ?? whole(live ? this.#paper.calm.end : this.#paper.end);
  });

  constructor(paper: Paper, spanMs: number, clock: Clock) {
    this.#paper = paper;
    this.#span = spanMs;
    this.#clock = clock;
  }

  get stretch(): Stretch {
    return this.#stretch;
  }

  /** Width of the plots, pixels. */
  set columns(columns: number) {
    this.#columns = columns;
  }

  get following(): boolean {
    return this.#following && this.#paper.live;
  }

  /** The paper follows a crank on its own time scale. */
  get cranking(): boolean {
    return this.#following && this.#paper.live && this.#crankEnds !== "";
  }

  get spanMs(): number {
    return this.#span;
  }

  /** Null also where the hand is beyond what was recorded. */
  get cursor(): number | null {
    if (this.#pin !== null) return this.#pin;
    if (this.#hover === null) return null;
    const t = timeAt(this.#hover, this.stretch);
    return t < 0 || t > this.#paper.end ? null : t;
  }

  /** The part of the plot that is being pulled out to zoom to. */
  get pulling(): { from: number; to: number } | null {
    return this.#pulling;
  }

  /** The time that readouts are for: the cursor, else the live end, else the right edge. */
  get readingTime(): number {
    return this.cursor ?? (this.following ? this.#paper.end : Math.min(this.stretch.to, this.#paper.end));
  }

  /** From where a step to another reading goes: where measuring began, until its other end is somewhere. */
  get steppingTime(): number {
    return this.cursor ?? this.#anchor ?? this.readingTime;
  }

  /** The stretch between the two cursors, earlier one first; null while nothing is measured. */
  get measured(): Stretch | null {
    const a = this.#anchor;
    if (a === null) return null;
    const b = this.calmTime;
    return { from: Math.min(a, b), to: Math.max(a, b) };
  }

  /** Where measuring began; null while nothing is measured. */
  get anchor(): number | null {
    return this.#anchor;
  }

  /** Measures from here on, or from `at`, to wherever the cursor goes. Again: ends it. */
  measure(at = this.readingTime): void {
    this.#anchor = this.#anchor === null ? Math.min(Math.max(0, at), this.#paper.end) : null;
    // The held cursor becomes the one end: the hand is free for the other.
    if (this.#anchor !== null) this.#pin = null;
  }

  get playing(): boolean {
    return this.#playing;
  }

  set playing(on: boolean) {
    this.#playing = on;
    if (on) {
      this.#pin = this.readingTime;
      if (this.following) this.#hold(this.stretch);
    }
  }

  /** Moves the held cursor, and the paper under it once it nears the edge. */
  playTo(t: number): void {
    const { from, to } = this.stretch;
    this.pin(t);
    const length = to - from;
    if (t > from + length * 0.8)
      this.#hold(clampStretch({ from: t - length * 0.8, to: t + length * 0.2 }, this.#paper.end));
    else if (t < from) this.show(t, t + length);
  }

  /** The same for figures that a person reads: while it moves, it is renewed a few times a second. */
  get calmTime(): number {
    if (this.#pin !== null) return this.#playing ? Math.floor(this.#pin / calmMs) * calmMs : this.#pin;
    if (this.#stands !== null) return this.#stands;
    return this.following ? (this.cursor ?? this.#paper.calm.end) : this.readingTime;
  }

  follow(): void {
    this.#following = true;
    this.#held = null;
    this.release();
  }

  whole(): void {
    this.#following = false;
    this.#held = null;
    this.#stands = null;
  }

  pan(part: number): void {
    this.#hold(pan(this.stretch, part, this.#paper.end));
  }

  /** While it follows, zooming changes how much is seen and the live end stays in view. */
  zoom(factor: number, part: number): void {
    if (this.following) {
      this.#span = Math.min(Math.max(this.#span * factor, 2000), Math.max(10_000, whole(this.#paper.end).to));
      return;
    }
    this.#hold(zoom(this.stretch, factor, timeAt(part, this.stretch), this.#paper.end));
  }

  show(from: number, to: number): void {
    this.#hold(clampStretch({ from, to }, this.#paper.end));
  }

  /** Brings an interval, or an instant with what follows it, into view with some of what is around it. */
  goTo(from: number, to = from): void {
    const { stretch } = this;
    this.#hold(broughtBy({ from, to }, this.#paper.end, stretch.to - stretch.from));
    this.pin(from);
  }

  /** The cursor to a time; the paper moves only where that is out of view. */
  stepTo(t: number): void {
    const { stretch } = this;
    const half = (stretch.to - stretch.from) / 2;
    if (t < stretch.from || t > stretch.to) this.show(t - half, t + half);
    else this.#hold(stretch);
    this.pin(t);
  }

  pull(parts: { from: number; to: number } | null): void {
    this.#pulling = parts;
  }

  pulled(parts: { from: number; to: number }): void {
    const { stretch } = this;
    this.show(timeAt(parts.from, stretch), timeAt(parts.to, stretch));
  }

  hover(part: number | null): void {
    // Who points at something wants its figures now.
    this.#stands = null;
    this.#hover = part === null || part < 0 || part > 1 ? null : part;
  }

  /** Holds the cursor at a time until it is released. */
  pin(t: number): void {
    this.#pin = Math.min(Math.max(0, t), this.#paper.end);
  }

  /** A click holds the cursor, the next one lets it go. */
  tap(part: number): void {
    if (this.#pin === null) this.pin(timeAt(part, this.stretch));
    else this.#pin = null;
  }

  get pinned(): boolean {
    return this.#pin !== null;
  }

  release(): void {
    this.#pin = null;
    this.#hover = null;
    this.#stands = null;
  }

  #hold(stretch: Stretch): void {
    this.#following = false;
    this.#held = stretch;
    this.#movedOn = true;
    if (!this.#standing) this.#stand();
  }

  /** The first move brings figures at once; of those that follow closely, the latest every so often. */
  #stand(): void {
    this.#standing = this.#movedOn;
    this.#stands = this.#movedOn ? this.readingTime : null;
    this.#movedOn = false;
    if (this.#standing) this.#clock.after(standMs, () => this.#stand());
  }
}
