import type { Regime } from "../../../shared/ranges.ts";
import type { RegimeSpan } from "./chart/index.ts";

export { regimeTone } from "../../sheet/chart/tone.ts";

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
