import type { JobFacts, VehicleFacts } from "../../../../shared/vehicle.ts";
import type { FactName, FactOwner } from "../../../sheet/effectiveFacts.ts";

/** What a form of complaint and vehicle reads and writes. */
export interface FactsHolder {
  readonly facts: JobFacts;
  readonly readOnly: boolean;
  /** Whose word a fact is, where there are two who may have said it. */
  from?(name: FactName): FactOwner | undefined;
  setComplaint(complaint: string): void;
  setVehicle<K extends keyof VehicleFacts>(key: K, value: VehicleFacts[K] | undefined): void;
}

/** Facts with this complaint; a blank one is none. */
export function withComplaint(facts: JobFacts, complaint: string): JobFacts {
  const others = Object.entries(facts).filter(([name]) => name !== "complaint");
  return { ...Object.fromEntries(others), ...(complaint.trim() === "" ? {} : { complaint }) };
}

/** Facts with this one of the vehicle; undefined wipes it out. */
export function withVehicle<K extends keyof VehicleFacts>(
  facts: JobFacts,
  key: K,
  value: VehicleFacts[K] | undefined,
): JobFacts {
  const others = Object.entries(facts.vehicle ?? {}).filter(([name]) => name !== key);
  return { ...facts, vehicle: Object.fromEntries(value === undefined ? others : [...others, [key, value]]) };
}
