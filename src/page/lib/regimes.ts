import type { Regime } from "../../../shared/ranges.ts";
import type { RegimeSpan } from "./chart/index.ts";

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

/** Background tone of a regime; the word always stands beside it. */
export function regimeTone(regime: Regime | null): "rest" | "key" | "crank" | "none" | "run" {
  switch (regime) {
    case null:
    case "silent":
      return "rest";
    case "key-on":
      return "key";
    case "cranking":
    case "run-up":
      return "crank";
    case "no-speed":
    case "stall":
      return "none";
    default:
      return "run";
  }
}
