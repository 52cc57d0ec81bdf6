import { benchFaults, benchVehicle, benchVehicles, faultsOf } from "../../adapters/bench/index.ts";

export interface Case {
  readonly vehicle: string;
  /** null: healthy. */
  readonly fault: string | null;
  readonly severity: number;
  readonly script: string;
  readonly seed: number;
}

export interface CaseOptions {
  readonly seeds: readonly [from: number, to: number];
  readonly severities: readonly number[];
  readonly vehicles: readonly string[];
  readonly faults: readonly string[];
  readonly script: string;
}

export const allVehicles = benchVehicles.map((v) => v.id);
export const allFaults = benchFaults.map((f) => f.id);

/** Vehicles x faults x severities x seeds, and half as many healthy runs as faulty ones: a third of all. */
export function casesOf(options: CaseOptions): Case[] {
  const { seeds, severities, vehicles, faults, script } = options;
  const broken: Case[] = [];
  for (let seed = seeds[0]; seed <= seeds[1]; seed++) {
    for (const vehicle of vehicles) {
      // A diesel has no coil, an engine with an air-flow meter no hose to lose.
      const can = new Set(faultsOf(benchVehicle(vehicle)).map((f) => f.id));
      for (const fault of faults.filter((f) => can.has(f))) {
        for (const severity of severities) broken.push({ vehicle, fault, severity, script, seed });
      }
    }
  }
  const healthy = Array.from({ length: Math.ceil(broken.length / 2) }, (_, i): Case => {
    const vehicle = vehicles[i % vehicles.length] ?? "";
    const scripts = [script, "start-and-idle", "snap", "cold-crank", "crank-only"];
    const round = Math.floor(i / vehicles.length);
    return {
      vehicle,
      fault: null,
      severity: 0,
      script: scripts[round % scripts.length] ?? script,
      seed: 100_000 + seeds[0] + round,
    };
  });
  return [...broken, ...healthy];
}
