/** Which repairs mend which fault of the bench vehicle, argued from what is broken there. */
import { mendedBy } from "../../adapters/bench/mendedBy.ts";
import type { CauseId } from "../../src/interpret/causes/tables/causes.ts";
import { namesOf } from "./cases.ts";

const table = mendedBy as Readonly<Record<string, readonly CauseId[]>>;

/** Causes whose repair mends the fault, the one it is first. */
export function trueCauses(fault: string, severity: number): readonly CauseId[] {
  const names = namesOf(fault);
  if (names.length > 1) return names.flatMap((name) => trueCauses(name, severity));
  // Below 1 the bench vehicle's circuit is not open: the contact opens now and then.
  if (fault === "no-crank-signal" && severity < 1) return ["crank-signal-contact"];
  return table[fault] ?? [];
}

export const knownFaults = Object.keys(table);
