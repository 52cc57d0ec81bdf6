/** The visible stretch of time and what moves it. */
import type { Stretch } from "../../../sheet/chart/stretch.ts";

export { partOf, timeAt, type Stretch } from "../../../sheet/chart/stretch.ts";

/** Closer than this nothing more can be told apart: the clock of a recording counts microseconds. */
export const shortestMs = 50;
/** An empty or very short recording is still shown on a paper of this length. */
export const leastPaperMs = 10_000;

/** The whole recording with a little room at its end. */
export function whole(end: number): Stretch {
  return { from: 0, to: Math.max(leastPaperMs, end * 1.02) };
}

/** Keeps a stretch within the paper: its length first, then its place. */
export function clampStretch({ from, to }: Stretch, end: number): Stretch {
  const paper = whole(end).to;
  const length = Math.min(Math.max(to - from, shortestMs), paper);
  const start = Math.min(Math.max(from, 0), paper - length);
  return { from: start, to: start + length };
}

/** Moves by a part of the visible length; positive goes to later times. */
export function pan(stretch: Stretch, part: number, end: number): Stretch {
  const by = (stretch.to - stretch.from) * part;
  return clampStretch({ from: stretch.from + by, to: stretch.to + by }, end);
}

/** Multiplies the visible length by `factor`, keeping the time `around` where it is on the screen. */
export function zoom(stretch: Stretch, factor: number, around: number, end: number): Stretch {
  const length = stretch.to - stretch.from;
  const wanted = Math.min(Math.max(length * factor, shortestMs), whole(end).to);
  const part = (around - stretch.from) / length;
  return clampStretch({ from: around - part * wanted, to: around + (1 - part) * wanted }, end);
}

/**
 * The stretch that ends at the live end; a short recording fills up from the left. It moves by whole columns of the
 * paper: between two of them nothing moves that could be seen, so that only lanes with a new reading are drawn anew.
 */
export function following(liveEnd: number, span: number, columns: number): Stretch {
  const step = span / Math.max(1, columns);
  const to = Math.max(Math.ceil(liveEnd / step) * step, span);
  return { from: to - span, to };
}

/** A stretch shown with some of what stands around it. */
export function around(from: number, to: number, end: number): Stretch {
  const room = Math.max((to - from) * 0.25, 1500);
  return clampStretch({ from: from - room, to: to + room }, end);
}

/** So much is shown of what is no longer than an instant, milliseconds. */
const instantMs = 2000;
const followedMs = 10_000;

/** What is shown of a place: a stretch as it is, an instant with what follows it, from close by no wider than `seen`. */
export function broughtBy({ from, to }: Stretch, end: number, seen = Number.POSITIVE_INFINITY): Stretch {
  if (to - from >= instantMs) return around(from, to, end);
  const wide = around(from, from + followedMs, end);
  const span = wide.to - wide.from;
  if (seen >= span) return wide;
  const before = ((from - wide.from) / span) * seen;
  return clampStretch({ from: from - before, to: from - before + seen }, end);
}
