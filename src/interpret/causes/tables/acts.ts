import type { CauseId } from "./causes.ts";
import type { HandCheckId } from "./checks.ts";

export interface ActRow {
  readonly check: HandCheckId;
  readonly outcome: string;
  /** "changed": the part was changed, moved, sealed or bypassed. "reversed": that was undone. */
  readonly did: "changed" | "reversed";
  readonly effect: "gone" | "stays" | "back" | "still-gone";
  readonly causes: readonly CauseId[];
  /** The check that undoes it; a change that ends with its check has none. */
  readonly undo?: HandCheckId;
}

const relay = ["relay-open", "relay-contact", "relay-burned"] as const;
const leak = ["air-leak-small", "air-leak-large"] as const;

/** Outcomes of hand checks that change something on the vehicle, and so count toward proof. Common practice. */
export const checkActs: readonly ActRow[] = [
  {
    check: "relay-swap",
    outcome: "works",
    did: "changed",
    effect: "gone",
    causes: relay,
    undo: "relay-back",
  },
  { check: "relay-swap", outcome: "same", did: "changed", effect: "stays", causes: relay },
  { check: "relay-back", outcome: "returns", did: "reversed", effect: "back", causes: relay },
  { check: "relay-back", outcome: "works", did: "reversed", effect: "still-gone", causes: relay },
  {
    check: "swap-coil",
    outcome: "moves",
    did: "changed",
    effect: "gone",
    causes: ["coil-one"],
    undo: "coil-back",
  },
  { check: "swap-coil", outcome: "stays", did: "changed", effect: "stays", causes: ["coil-one"] },
  { check: "coil-back", outcome: "returns", did: "reversed", effect: "back", causes: ["coil-one"] },
  { check: "coil-back", outcome: "gone", did: "reversed", effect: "still-gone", causes: ["coil-one"] },
  { check: "swap-plug", outcome: "moves", did: "changed", effect: "gone", causes: ["plug-one"] },
  { check: "swap-plug", outcome: "stays", did: "changed", effect: "stays", causes: ["plug-one"] },
  {
    check: "injector-moved",
    outcome: "moves",
    did: "changed",
    effect: "gone",
    causes: ["injector-clogged-one", "injector-open"],
  },
  {
    check: "injector-moved",
    outcome: "stays",
    did: "changed",
    effect: "stays",
    causes: ["injector-clogged-one", "injector-open"],
  },
  {
    check: "intake-sealed",
    outcome: "changes",
    did: "changed",
    effect: "gone",
    causes: leak,
    undo: "intake-reopened",
  },
  { check: "intake-reopened", outcome: "returns", did: "reversed", effect: "back", causes: leak },
  { check: "intake-reopened", outcome: "gone", did: "reversed", effect: "still-gone", causes: leak },
  { check: "purge-clamp", outcome: "changes", did: "changed", effect: "gone", causes: ["purge-open"] },
  { check: "purge-clamp", outcome: "same", did: "changed", effect: "stays", causes: ["purge-open"] },
  { check: "exhaust-open", outcome: "freer", did: "changed", effect: "gone", causes: ["exhaust-blocked"] },
  { check: "egr-blocked", outcome: "better", did: "changed", effect: "gone", causes: ["egr-open"] },
  {
    check: "meter-unplug",
    outcome: "better",
    did: "changed",
    effect: "gone",
    causes: ["air-meter-low", "air-meter-high"],
  },
  { check: "second-key", outcome: "starts", did: "changed", effect: "gone", causes: ["immobiliser"] },
  { check: "fuel-level", outcome: "starts", did: "changed", effect: "gone", causes: ["fuel-empty"] },
  {
    check: "booster",
    outcome: "starts",
    did: "changed",
    effect: "gone",
    causes: ["battery-discharged", "battery-worn", "alternator-dead"],
  },
];
