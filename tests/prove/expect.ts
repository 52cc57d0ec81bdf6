/**
 * What counts as found, for each fault of the bench vehicle: signs (by id, or a family with its dot) that a person
 * would be led by. Argued from the mechanism, common practice, without looking at what the interpreter says.
 * `hidden`: why standard data cannot show it; such a fault is printed, not expected.
 */
export interface Expected {
  readonly signs: readonly string[];
  readonly hidden?: string;
}

const noStart = ["crank.no-fire", "crank.dies"];

export const expected: Readonly<Record<string, Expected>> = {
  "weak-battery": { signs: ["power.", "crank.speed"] },
  "cable-resistance": { signs: ["power.", "crank.speed"] },
  "ground-resistance": { signs: ["power.", "crank.speed"] },
  // What turns hard turns slower than its volts should turn it, also while it is not slow yet.
  "starter-drag": { signs: ["power.", "crank.speed", "crank.drag"] },
  "engine-tight": { signs: ["power.", "crank.speed", "crank.drag"] },
  // Half dead, a signal comes and goes.
  "no-crank-signal": { signs: ["crank.no-speed", "crank.drop-outs"] },
  "crank-signal-dropout": { signs: ["crank."] },
  "crank-signal-weak": { signs: ["crank."] },
  "no-cam-signal": { signs: ["crank."] },
  "relay-open": { signs: [...noStart, "link.", "power."] },
  "relay-intermittent": { signs: [...noStart, "link.", "power.", "misfire.", "crank."] },
  "relay-resistance": { signs: [...noStart, "power.", "mixture.", "misfire."] },
  "pump-dead": { signs: noStart },
  "pump-weak": { signs: [...noStart, "mixture."] },
  "filter-blocked": { signs: [...noStart, "mixture."] },
  "stale-fuel": { signs: [...noStart, "mixture.", "misfire.", "crank."] },
  "tank-empty": { signs: [...noStart, "crank.stall", "crank.time-to-fire", "mixture."] },
  "injectors-clogged": { signs: ["mixture.", ...noStart] },
  "injector-clogged": { signs: ["mixture.", "misfire."] },
  "injectors-clogged-bank": { signs: ["mixture."] },
  "injector-stuck-open": { signs: ["mixture.", "misfire."] },
  "ignition-dead": { signs: noStart },
  "ignition-weak": { signs: [...noStart, "misfire.", "mixture.", "crank."] },
  "ignition-one-cylinder": { signs: ["misfire."] },
  "plug-one-cylinder": { signs: ["misfire."] },
  // The inlet closes late and gives air back: metered by manifold pressure it reads rich, and the idle needs more of it.
  "timing-slipped": { signs: ["crank.", "sensor.", "misfire.", "mixture."] },
  "compression-low-one": { signs: ["misfire.", "crank."] },
  "compression-low-all": { signs: ["crank.", "misfire."] },
  "exhaust-blocked": { signs: [...noStart, "crank.", "sensor."] },
  "unmetered-air": { signs: ["mixture.", "misfire.", "sensor."] },
  "unmetered-air-large": { signs: ["mixture.", "misfire.", "crank.", "sensor."] },
  "unmetered-air-bank": { signs: ["mixture."] },
  "air-meter-low": { signs: ["mixture."] },
  "manifold-hose-off": { signs: ["sensor.", "mixture.", "crank."] },
  "coolant-reads-cold": { signs: ["sensor."] },
  "coolant-sensor-open": { signs: ["sensor."] },
  "coolant-sensor-shorted": { signs: ["sensor."] },
  "throttle-reads-open": { signs: ["sensor.", "crank."] },
  "oxygen-sensor-biased": { signs: ["sensor.", "mixture."] },
  "oxygen-sensor-dead": { signs: ["sensor.", "mixture."] },
  "exhaust-leak": { signs: ["mixture."] },
  "purge-stuck-open": { signs: ["mixture.", "misfire."] },
  immobiliser: { signs: noStart },
  "thermostat-open": { signs: ["sensor."], hidden: "the engine is not warmed up in a short run" },
  "alternator-dead": { signs: ["power."] },
  "module-supply-drop": { signs: ["power.", "link."] },
};
