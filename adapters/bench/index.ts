/** The room's door: the bench vehicle, an invented engine behind an ELM-compatible dialogue. */
import type { BenchVehicleInfo } from "../../shared/messages.ts";
import { faultsOf } from "./faults.ts";
import { handChecks } from "./hands.ts";
import { practiceCases } from "./practice.ts";
import { allBenchVehicles } from "./vehicles.ts";

export { attachAdapter, type AdapterOptions, type AttachedAdapter } from "./adapter/front.ts";
export { Bench, type BenchOptions, type BenchState } from "./bench.ts";
export { benchFaults, faultsOf, type BenchFaultRow } from "./faults.ts";
export { handChecks, measure, type HandCheckId, type HandReading } from "./hands.ts";
export { mendedBy } from "./mendedBy.ts";
export { practiceCases, practised, surprise, type PracticeCase, type Practised } from "./practice.ts";
export { withCheckDigit } from "./services/vin.ts";
export { benchScripts, runScript, type BenchScript } from "./scripts.ts";
export { allBenchVehicles, benchVehicle, benchVehicles, type BenchVehicle } from "./vehicles.ts";

/** What the page lists: every vehicle with the faults it can have. */
export function benchVehicleInfo(): BenchVehicleInfo[] {
  return allBenchVehicles.map((vehicle) => {
    const faults = faultsOf(vehicle).map(({ id, name }) => ({ id, name }));
    const cases = practiceCases
      .filter((one) => one.vehicle === vehicle.id)
      .map(({ id, title, story }) => ({ id, title, story }));
    const cylinders = vehicle.firingOrder.length;
    const gauges = handChecks.map(({ id, name, cylinder }) => ({ id, name, cylinder }));
    const { id, name, about } = vehicle;
    return { id, name, about, faults, cases, cylinders, gauges, coils: vehicle.fuel === "petrol" };
  });
}
