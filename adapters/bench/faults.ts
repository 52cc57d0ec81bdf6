/**
 * Faults as data: which physical numbers each one changes. The severity runs from 0 (not there) to 1. What is
 * hurt on one cylinder or bank is always the same one of a vehicle; nobody downstream is told which.
 */
import { CranksideError } from "../../shared/errors.ts";
import { healthy, type Damage } from "./damage.ts";
import { electricFaults, type BenchFaultRow } from "./faultsElectric.ts";
import { engineFaults } from "./faultsEngine.ts";
import type { BenchVehicle } from "./vehicles.ts";

export type { BenchFaultRow };

export const benchFaults: readonly BenchFaultRow[] = [...electricFaults, ...engineFaults];

/** Faults this vehicle can have. */
export function faultsOf(vehicle: BenchVehicle): readonly BenchFaultRow[] {
  return benchFaults.filter((f) => f.fits?.(vehicle) ?? true);
}

/** Applies all faults of the map (id to severity) to a healthy engine. */
export function damageOf(faults: ReadonlyMap<string, number>, vehicle: BenchVehicle): Damage {
  const damage = healthy(vehicle.firingOrder.length);
  for (const [id, severity] of faults) {
    if (severity > 0) benchFault(id, vehicle).apply(damage, Math.min(1, severity), vehicle);
  }
  return damage;
}

/** The fault of this name; throws `bench-unknown` with those the vehicle can have. */
export function benchFault(id: string, vehicle: BenchVehicle): BenchFaultRow {
  const found = faultsOf(vehicle).find((f) => f.id === id);
  if (found !== undefined) return found;
  throw new CranksideError("bench-unknown", `no such fault on ${vehicle.id}`, {
    expected: faultsOf(vehicle)
      .map((f) => f.id)
      .join(", "),
    found: JSON.stringify(id),
  });
}
