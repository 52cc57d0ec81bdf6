import type { HandCheckId } from "./checks.ts";

interface LabelRow {
  readonly check: HandCheckId;
  /** Words of a mark's label that mean this check. */
  readonly label: RegExp;
  /** Words that mean the opposite, such as a seal that is taken off. */
  readonly not?: RegExp;
}

/** Which hand check a marked interval is, by its label. The first that fits holds. */
export const labels: readonly LabelRow[] = [
  {
    check: "fuel-added-idle",
    label: /propane|fuel (?:was )?added|add(?:ed|ing)? (?:some )?fuel|starting fluid/i,
  },
  { check: "purge-clamp", label: /purge/i },
  {
    check: "intake-sealed",
    label: /seal|clamp|taped|plugged off|blocked off|hose closed/i,
    not: /unseal|seal (?:taken )?off|reopen|opened|removed/i,
  },
  { check: "meter-unplug", label: /(?:meter|maf|air.?flow).*(?:unplug|off)|unplug.*(?:meter|maf)/i },
];
