import type { Regime } from "../../../shared/ranges.ts";

/** Background tone of a regime; the word always stands beside it. */
export function regimeTone(regime: Regime | null): "rest" | "key" | "crank" | "none" | "run" {
  switch (regime) {
    case null:
    case "silent":
      return "rest";
    case "key-on":
    case "shut-off":
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
