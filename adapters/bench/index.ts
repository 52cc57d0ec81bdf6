/** The room's door: the bench vehicle, an invented engine behind an ELM-compatible dialogue. */
import type { BenchVehicleInfo } from "../../shared/messages.ts";
import { faultsOf } from "./faults.ts";
import { allBenchVehicles } from "./vehicles.ts";

export { attachAdapter, type AdapterOptions, type AttachedAdapter } from "./adapter/front.ts";
export { Bench, type BenchOptions, type BenchState } from "./bench.ts";
export { benchFaults, faultsOf, type BenchFaultRow } from "./faults.ts";
export { handChecks, measure, type HandCheckId, type HandReading } from "./hands.ts";
export { benchScripts, runScript, type BenchScript } from "./scripts.ts";
export { allBenchVehicles, benchVehicle, benchVehicles, type BenchVehicle } from "./vehicles.ts";

/** What the page lists: every vehicle with the faults it can have. */
export function benchVehicleInfo(): BenchVehicleInfo[] {
  return allBenchVehicles.map((vehicle) => {
    const faults = faultsOf(vehicle).map(({ id, name }) => ({ id, name }));
    return { id: vehicle.id, name: vehicle.name, about: vehicle.about, faults };
  });
}
