import type { BenchVehicle } from "../vehicles.ts";

/**
 * Torque of friction, N·m. Motored friction after Heywood 13.6 (Barnes-Moss), its pumping taken off, with what rubs
 * at cranking speed where the oil film is thin, times a cold-oil factor (the last two common practice).
 */
export function frictionTorque(vehicle: BenchVehicle, rpm: number, oilC: number): number {
  const krpm = rpm / 1000;
  const rubbing = 0.5 * Math.exp(-rpm / 350);
  const bar = vehicle.frictionBar + rubbing + 0.15 * krpm + 0.05 * krpm * krpm;
  const oil = 1 + 1.5 * Math.exp(-(oilC + 10) / 38);
  return (bar * 1e5 * oil * vehicle.displacementL * 1e-3) / (4 * Math.PI);
}
