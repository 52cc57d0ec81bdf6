/** Which repairs mend which fault of the bench vehicle, argued from what is broken there. */
import type { CauseId } from "../../src/interpret/causes/tables/causes.ts";
import { namesOf } from "./cases.ts";
import { hashed } from "./shopChance.ts";

const table: Readonly<Record<string, readonly CauseId[]>> = {
  "weak-battery": ["battery-worn"],
  "cable-resistance": ["cable-drop"],
  "ground-resistance": ["cable-drop"],
  "starter-drag": ["starter-worn"],
  "engine-tight": ["engine-tight"],
  "no-crank-signal": ["crank-signal-dead"],
  "crank-signal-dropout": ["crank-signal-contact"],
  "crank-signal-weak": ["crank-signal-weak"],
  "no-cam-signal": ["cam-signal-dead"],
  "relay-open": ["relay-open"],
  "relay-intermittent": ["relay-contact"],
  "relay-resistance": ["relay-burned"],
  "pump-dead": ["pump-dead"],
  "pump-weak": ["pump-weak"],
  "filter-blocked": ["filter-blocked"],
  "stale-fuel": ["fuel-stale"],
  "tank-empty": ["fuel-empty"],
  "injectors-clogged": ["injectors-clogged"],
  // Cleaning the whole set cleans the one as well.
  "injector-clogged": ["injector-clogged-one", "injectors-clogged"],
  "injectors-clogged-bank": ["injectors-bank"],
  "injector-stuck-open": ["injector-open"],
  "ignition-dead": ["spark-dead"],
  "ignition-weak": ["spark-weak"],
  "timing-slipped": ["timing-slipped"],
  "compression-low-one": ["valve-one"],
  "compression-low-all": ["compression-all"],
  "exhaust-blocked": ["exhaust-blocked"],
  // How large a leak is, is a matter of words; both are mended by the hose or gasket.
  "unmetered-air": ["air-leak-small", "air-leak-large"],
  "unmetered-air-large": ["air-leak-large", "air-leak-small"],
  "unmetered-air-bank": ["air-leak-small", "air-leak-large"],
  "air-meter-low": ["air-meter-low"],
  "manifold-hose-off": ["manifold-sensor"],
  "coolant-reads-cold": ["coolant-reads-cold"],
  "coolant-sensor-open": ["coolant-reads-cold"],
  "coolant-sensor-shorted": ["coolant-reads-hot"],
  "throttle-reads-open": ["throttle-reads-open"],
  "oxygen-sensor-biased": ["oxygen-biased"],
  "oxygen-sensor-dead": ["oxygen-dead"],
  "exhaust-leak": ["exhaust-leak"],
  "purge-stuck-open": ["purge-open"],
  immobiliser: ["immobiliser"],
  "thermostat-open": ["thermostat-open"],
  "alternator-dead": ["alternator-dead"],
  "module-supply-drop": ["module-supply"],
};

/**
 * The fault says "coil or plug": which of them, is thrown once for each vehicle. One that draws no current any more is
 * the coil: the module sees that, and of a plug it sees nothing.
 */
export function isCoil(seed: number, severity: number): boolean {
  return severity >= 1 || hashed(seed, 77) < 0.5;
}

/** Causes whose repair mends the fault, the one it is first. */
export function trueCauses(fault: string, severity: number, seed: number): readonly CauseId[] {
  const names = namesOf(fault);
  if (names.length > 1) return names.flatMap((name) => trueCauses(name, severity, seed));
  // Below 1 the bench vehicle's circuit is not open: the contact opens now and then.
  if (fault === "no-crank-signal" && severity < 1) return ["crank-signal-contact"];
  if (fault === "ignition-one-cylinder") return isCoil(seed, severity) ? ["coil-one"] : ["plug-one"];
  return table[fault] ?? [];
}

export const knownFaults = [...Object.keys(table), "ignition-one-cylinder"];
