/** Where marks are drawn: thousands of them fall together where they could not be told apart. Pure. */
import { partOf, type Stretch } from "../chart/window.ts";
import type { Mark } from "./markList.ts";

/** Pixels: lines that stand closer hide what is under them, and are drawn as one. */
export const leastApart = 3;
/** With more lines to so many pixels than one, they are drawn faint: the trace is what is looked at. */
const crowdedFrom = 24;

export interface MarkPlaces {
  /** Pixels from the left, rising, of instants and of the ends of stretches. */
  readonly lines: readonly number[];
  /** The same of instants and beginnings alone. */
  readonly begins: readonly number[];
  /** Pixels; what several stretches cover is covered once. */
  readonly covered: readonly { readonly from: number; readonly to: number }[];
  /** There are so many lines that they would hide what is under them. */
  readonly crowded: boolean;
}

/** `marks` in the order of their times. */
export function placesOf(marks: readonly Mark[], stretch: Stretch, width: number): MarkPlaces {
  const xOf = (t: number): number => partOf(t, stretch) * width;
  const starts: number[] = [];
  const ends: number[] = [];
  const covered: { from: number; to: number }[] = [];
  for (const { at, until } of marks) {
    if ((until ?? at) < stretch.from || at > stretch.to) continue;
    starts.push(xOf(at));
    if (until === undefined) continue;
    ends.push(xOf(until));
    const last = covered.at(-1);
    if (last !== undefined && xOf(at) <= last.to) last.to = Math.max(last.to, xOf(until));
    else covered.push({ from: xOf(at), to: xOf(until) });
  }
  const seen = (all: readonly number[]): number[] => apart(all.filter((x) => x >= -1 && x <= width + 1));
  const lines = seen([...starts, ...ends].sort((a, b) => a - b));
  return { lines, begins: seen(starts), covered, crowded: lines.length * crowdedFrom > width };
}

/** The first of those that stand too close. */
function apart(rising: readonly number[]): number[] {
  const kept: number[] = [];
  for (const x of rising) if (x - (kept.at(-1) ?? Number.NEGATIVE_INFINITY) >= leastApart) kept.push(x);
  return kept;
}

export interface LabelPlace {
  readonly mark: Mark;
  readonly x: number;
  /** It stands before its mark instead of behind it. */
  readonly before: boolean;
  readonly line: number;
  /** Pixels. */
  readonly room: number;
}

export interface LabelRow {
  readonly width: number;
  readonly lines: number;
  /** Least room of a label that can be hit, pixels. */
  readonly least: number;
}

/** Labels in lines by turns, each to where the next of its line begins; those without any room are left out. */
export function labelsOf(
  marks: readonly Mark[],
  stretch: Stretch,
  { width, lines, least }: LabelRow,
): { readonly labels: readonly LabelPlace[]; readonly leftOut: number } {
  const seen = marks.filter(({ at }) => at >= stretch.from && at <= stretch.to);
  const placed: { readonly mark: Mark; readonly x: number }[] = [];
  for (const mark of seen) {
    const x = partOf(mark.at, stretch) * width;
    const before = placed[placed.length - lines];
    if (before === undefined || x - before.x >= least / 2) placed.push({ mark, x });
  }
  const labels = placed.map(({ mark, x }, i): LabelPlace => {
    const next = placed[i + lines]?.x ?? width;
    // Near the right edge a label stands before its mark instead of behind it.
    const before = next - x < 60 && x > width / 2;
    const room = before ? x - (placed[i - lines]?.x ?? 0) - 6 : next - x - 6;
    return { mark, x, before, line: i % lines, room: Math.max(least, room) };
  });
  return { labels, leftOut: seen.length - placed.length };
}
