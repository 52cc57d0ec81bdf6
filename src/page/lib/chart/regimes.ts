import type { Regime } from "../../../../shared/ranges.ts";
import type { RegimeSpan } from "./index.ts";

export { regimeTone } from "../../../sheet/chart/tone.ts";

/** The regime at a time; the last one holds on beyond its end. */
export function regimeAt(spans: readonly RegimeSpan[], t: number): Regime | null {
  let low = 0;
  let high = spans.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((spans[middle]?.from ?? 0) <= t) low = middle + 1;
    else high = middle;
  }
  return spans[low - 1]?.regime ?? null;
}

/** Spans with what lies in a gap taken out: a regime that was last seen is not the one that went on unseen. */
export function outsideGaps(
  spans: readonly RegimeSpan[],
  gaps: readonly { readonly from: number; readonly to: number }[],
): readonly RegimeSpan[] {
  if (gaps.length === 0) return spans;
  return gaps.reduce<readonly RegimeSpan[]>(
    (left, gap) =>
      left.flatMap((span) => {
        if (span.to <= gap.from || span.from >= gap.to) return [span];
        const before = { ...span, to: gap.from };
        const after = { ...span, from: gap.to };
        return [before, after].filter((piece) => piece.to > piece.from);
      }),
    spans,
  );
}

/**
 * Spans of a growing recording that stay the same array while nothing would be seen of the change: they are told anew
 * a few times a second, and each time all lanes would be drawn for an end that moved by less than a pixel.
 */
export class SteadySpans {
  #kept: readonly RegimeSpan[] = [];

  /** `leastMs`: what an end must have moved by. */
  of(spans: readonly RegimeSpan[], leastMs: number): readonly RegimeSpan[] {
    const kept = this.#kept;
    if (spans === kept) return kept;
    const same =
      spans.length === kept.length &&
      spans.every((span, i) => {
        const old = kept[i];
        return old?.regime === span.regime && old.from === span.from && Math.abs(old.to - span.to) < leastMs;
      });
    if (!same) this.#kept = spans;
    return this.#kept;
  }
}
