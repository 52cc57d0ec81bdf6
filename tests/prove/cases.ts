import { benchFaults, benchVehicle, benchVehicles, faultsOf } from "../../adapters/bench/index.ts";
import type { BenchFault } from "../../shared/address.ts";
import { hashed } from "./shopChance.ts";

export interface Case {
  readonly vehicle: string;
  /** Two that are broken at once are joined by a plus sign; null: healthy. */
  readonly fault: string | null;
  readonly severity: number;
  /** `suits`: the one that a person would choose who sees what the vehicle does. */
  readonly script: string;
  readonly seed: number;
}

export interface CaseOptions {
  readonly seeds: readonly [from: number, to: number];
  /** "hidden": drawn for each vehicle, told to nobody. */
  readonly severities: readonly number[] | "hidden";
  readonly vehicles: readonly string[];
  readonly faults: readonly string[];
  readonly script: string;
}

/** Broken twice: each hides part of what the other shows. */
export const pairs = [
  "weak-battery+no-cam-signal",
  "unmetered-air+pump-weak",
  "air-meter-low+unmetered-air",
] as const;

export const allVehicles = benchVehicles.map((v) => v.id);
export const allFaults = benchFaults.map((f) => f.id);

/** The names of what is broken. */
export const namesOf = (fault: string): string[] => fault.split("+");

/** What is broken, for the bench vehicle. */
export function brokenOf({ fault, severity }: Pick<Case, "fault" | "severity">): BenchFault[] {
  return fault === null ? [] : namesOf(fault).map((name) => ({ name, severity }));
}

/** The vehicle has every part that is broken. */
export function canHave(vehicle: string, fault: string): boolean {
  // A diesel has no coil, an engine with an air-flow meter no hose to lose.
  const can = new Set(faultsOf(benchVehicle(vehicle)).map((f) => f.id));
  return namesOf(fault).every((name) => can.has(name));
}

/** A third are broken outright, the others to some degree; two at once are each there to be noticed. */
function hiddenSeverity(vehicle: string, fault: string, seed: number): number {
  const text = `${vehicle} ${fault}`;
  let place = 7;
  for (let i = 0; i < text.length; i++) place = (Math.imul(place, 31) + text.charCodeAt(i)) >>> 0;
  if (hashed(place, seed) < 1 / 3) return 1;
  const least = namesOf(fault).length > 1 ? 0.5 : 0.25;
  return Number((least + (1 - least) * hashed(place, seed + 5_000_011)).toFixed(3));
}

/** Vehicles x faults x severities x seeds, and half as many healthy runs as faulty ones: a third of all. */
export function casesOf(options: CaseOptions): Case[] {
  const { seeds, severities, vehicles, faults, script } = options;
  const broken: Case[] = [];
  for (let seed = seeds[0]; seed <= seeds[1]; seed++) {
    for (const vehicle of vehicles) {
      for (const fault of faults.filter((f) => canHave(vehicle, f))) {
        const all = severities === "hidden" ? [hiddenSeverity(vehicle, fault, seed)] : severities;
        for (const severity of all) broken.push({ vehicle, fault, severity, script, seed });
      }
    }
  }
  const scripts = ["workshop", "start-and-idle", "snap", "cold-crank", "crank-only", "hold-2500", "starts"];
  const mine = script === "suits" ? scripts : [script, ...scripts.filter((s) => s !== script)];
  const healthy = Array.from({ length: Math.ceil(broken.length / 2) }, (_, i): Case => {
    const vehicle = vehicles[i % vehicles.length] ?? "";
    const round = Math.floor(i / vehicles.length);
    return {
      vehicle,
      fault: null,
      severity: 0,
      script: mine[round % mine.length] ?? "workshop",
      seed: 100_000 + seeds[0] + round,
    };
  });
  return [...broken, ...healthy];
}
