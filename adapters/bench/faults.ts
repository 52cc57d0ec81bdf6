/** Faults as data: which physical numbers each one changes. The severity runs from 0 (not there) to 1. */
import { CranksideError } from "../../shared/errors.ts";
import { healthy, type Damage } from "./damage.ts";
import type { BenchVehicle } from "./vehicles.ts";

export interface BenchFaultRow {
  readonly id: string;
  readonly name: string;
  /** What is broken, physically. */
  readonly broken: string;
  readonly apply: (damage: Damage, severity: number, vehicle: BenchVehicle) => void;
}

export const benchFaults: readonly BenchFaultRow[] = [
  {
    id: "no-crank-signal",
    name: "No crank signal",
    broken: "crank sensor circuit open; below 1 the contact opens now and then",
    apply: (damage, severity) => {
      if (severity >= 1) damage.crankSignal = 0;
      else damage.crankDropout = severity;
    },
  },
  {
    id: "weak-battery",
    name: "Weak battery",
    broken: "charge lost and plates sulphated: less voltage, more resistance",
    apply: (damage, severity) => {
      damage.batteryCharge -= 0.7 * severity;
      damage.batteryOhmFactor *= 1 + 2.2 * severity;
    },
  },
  {
    id: "unmetered-air",
    name: "Unmetered air",
    broken: "a split hose or gasket lets air in behind the throttle",
    apply: (damage, severity, vehicle) => {
      // At 1 as much as two thirds of a warm idle's air: about 3 mm² a litre, discharge taken off.
      damage.leakArea += 3e-6 * vehicle.displacementL * severity;
    },
  },
];

/** Applies all faults of the map (id to severity) to a healthy engine; unknown ids throw `bench-unknown`. */
export function damageOf(faults: ReadonlyMap<string, number>, vehicle: BenchVehicle): Damage {
  const damage = healthy();
  for (const [id, severity] of faults) {
    if (severity > 0) benchFault(id).apply(damage, Math.min(1, severity), vehicle);
  }
  return damage;
}

export function benchFault(id: string): BenchFaultRow {
  const found = benchFaults.find((f) => f.id === id);
  if (found !== undefined) return found;
  throw new CranksideError("bench-unknown", "no such fault on the bench vehicle", {
    expected: benchFaults.map((f) => f.id).join(", "),
    found: JSON.stringify(id),
  });
}
