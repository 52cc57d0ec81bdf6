import type { HandCheckId } from "./checks.ts";

interface LabelRow {
  readonly check: HandCheckId;
  /** Words of a mark's label that mean this check. */
  readonly label: RegExp;
  /** Words that mean the opposite, such as a seal that is taken off. */
  readonly not?: RegExp;
  /** Answered by what the starter's attempts came to: outcome when one starts, and when none does. */
  readonly cranking?: { readonly check: HandCheckId; readonly starts: string; readonly same: string };
}

/** Which hand check a marked interval is, by its label. The first that fits holds. */
export const labels: readonly LabelRow[] = [
  {
    check: "fuel-added-idle",
    label: /propane|fuel (?:was )?added|add(?:ed|ing)? (?:some )?fuel|starting fluid/i,
    cranking: { check: "add-fuel", starts: "fires", same: "nothing" },
  },
  {
    check: "booster",
    label: /jump (?:pack|leads|start)|booster/i,
    not: /\boff\b|removed|taken away/i,
    cranking: { check: "booster", starts: "starts", same: "same" },
  },
  {
    check: "relay-swap",
    label: /relay (?:was )?(?:swapped|changed|exchanged)/i,
    not: /back/i,
    cranking: { check: "relay-swap", starts: "works", same: "same" },
  },
  {
    check: "exhaust-open",
    label: /exhaust (?:was )?(?:opened|loosened|off)/i,
    not: /closed|back/i,
    cranking: { check: "exhaust-open", starts: "freer", same: "same" },
  },
  {
    check: "clear-flood",
    label: /clear.?flood|pedal (?:held )?down|throttle (?:held )?(?:wide )?open/i,
    cranking: { check: "clear-flood", starts: "starts", same: "same" },
  },
  { check: "purge-clamp", label: /purge/i },
  {
    check: "egr-blocked",
    label:
      /\b(?:egr|recirculation)\b.*\b(?:blocked|blanked|closed|shut|plate)\b|\bblock(?:ed|ing)?\b.*\b(?:egr|recirculation)\b/i,
    not: /unblock|reopen|opened|plate out/i,
    cranking: { check: "egr-blocked", starts: "better", same: "same" },
  },
  {
    check: "intake-sealed",
    label: /seal|clamp|taped|plugged off|blocked off|hose closed/i,
    not: /unseal|seal (?:taken )?off|reopen|opened|removed/i,
  },
  { check: "meter-unplug", label: /(?:meter|maf|air.?flow).*(?:unplug|off)|unplug.*(?:meter|maf)/i },
];

/** Which hand check a part moved to another cylinder answers, and which its moving back. */
export const movedChecks: Readonly<
  Record<"coil" | "plug" | "injector", { readonly moved: HandCheckId; readonly back: HandCheckId | null }>
> = {
  coil: { moved: "swap-coil", back: "coil-back" },
  plug: { moved: "swap-plug", back: null },
  injector: { moved: "injector-moved", back: null },
};
