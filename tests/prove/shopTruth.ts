/** Which repairs mend which fault of the bench vehicle, argued from what is broken there. */
import { mendedBy } from "../../adapters/bench/mendedBy.ts";
import type { CauseId } from "../../src/interpret/causes/tables/causes.ts";
import { namesOf } from "./cases.ts";
import { hashed } from "./shopChance.ts";

const table = mendedBy as Readonly<Record<string, readonly CauseId[]>>;

/**
 * The fault says "coil or plug": which of them, is thrown once for each vehicle. One that draws no current any more is
 * the coil: the module sees that, and of a plug it sees nothing.
 */
export function isCoil(seed: number, severity: number): boolean {
  return severity >= 1 || hashed(seed, 77) < 0.5;
}

/** Causes whose repair mends the fault, the one it is first. */
export function trueCauses(fault: string, severity: number, seed: number): readonly CauseId[] {
  const names = namesOf(fault);
  if (names.length > 1) return names.flatMap((name) => trueCauses(name, severity, seed));
  // Below 1 the bench vehicle's circuit is not open: the contact opens now and then.
  if (fault === "no-crank-signal" && severity < 1) return ["crank-signal-contact"];
  if (fault === "ignition-one-cylinder") return isCoil(seed, severity) ? ["coil-one"] : ["plug-one"];
  return table[fault] ?? [];
}

export const knownFaults = Object.keys(table);
