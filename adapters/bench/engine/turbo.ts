import type { BenchVehicle } from "../vehicles.ts";

/**
 * Pressure behind the turbo that a fuel flow (g/s) leads to, Pa: it goes with the heat sent to the turbine; the rotor's
 * inertia makes it lag (common practice).
 */
export function boosted(vehicle: BenchVehicle, ambient: number, drawn: number): number {
  const heat = Math.min(1, (drawn / (1.5 * vehicle.displacementL)) ** 1.3);
  return ambient + vehicle.boostKpa * 1000 * heat;
}
