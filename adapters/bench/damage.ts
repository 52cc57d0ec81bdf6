/**
 * What can be broken, each at its physical place. A healthy engine has `healthy()`; a fault changes numbers here
 * and nothing else, so every symptom has to come out of the physics. Lists go by cylinder number, first cylinder
 * first.
 */
export interface Damage {
  // Battery, starter, charging
  /** State of charge at the start, 0 to 1, and factor on the internal resistance. */
  batteryCharge: number;
  batteryOhmFactor: number;
  /** Added resistance: the starter's own cable; the strap from engine block to body, ohm. */
  cableOhm: number;
  groundOhm: number;
  /** Torque lost in the starter, N·m at the crankshaft. */
  starterDrag: number;
  /** Share of the alternator's current that is left. */
  alternator: number;

  // Supply of the module and of coils and injectors
  /** Resistance ahead of the control module, ohm; share of cranking time its supply is gone. */
  moduleOhm: number;
  moduleDropout: number;
  /** Main relay: contact never closes; share of time it is open; contact resistance, ohm. */
  relayOpen: boolean;
  relayDropout: number;
  relayOhm: number;
  immobilised: boolean;

  // Mechanics
  frictionFactor: number;
  /** Camshaft late against the crankshaft, crankshaft degrees. */
  valveSlip: number;
  /** Charge lost past rings (while they carry no pressure), past valves: added to `soundLeak`. */
  readonly ringLeak: Float64Array;
  readonly valveLeak: Float64Array;
  /** Factor on the exhaust's flow resistance. */
  exhaustBlock: number;
  /** The thermostat cannot close below this share. */
  thermostatOpen: number;

  // Signals
  /** Share of tooth signal voltage that arrives; 0 is an open circuit. */
  crankSignal: number;
  /** Share of time the crank circuit is open, in bursts. */
  crankDropout: number;
  camSignal: boolean;
  /** Factor on the air meter's reading. */
  meterScale: number;
  /** Share of the outside that the manifold sensor sees. */
  manifoldHose: number;
  /** Coolant sensor: added to the truth, °C; or its circuit. */
  coolantOffset: number;
  coolantCircuit: "whole" | "open" | "shorted";
  /** The throttle sensor reads at least this share of its travel. */
  throttleReads: number;
  /** Front oxygen sensor: added volts; the element gives nothing. */
  oxygenBias: number;
  oxygenDead: boolean;
  /** Outside air drawn into the exhaust ahead of the sensor, share at idle flow. */
  exhaustAir: number;

  // Air
  /** Hole behind the air meter and throttle: area times discharge coefficient, m². */
  leakArea: number;
  /** The same at the intake ports of bank 2, behind the manifold: it reaches the cylinders of that bank alone. */
  portLeakArea: number;
  /** The purge valve's opening, m². */
  purgeArea: number;

  // Fuel
  /** Share of the pump's pressure and capacity that is left. */
  pump: number;
  /** Pressure lost in filter and line at the engine's greatest draw, share of the rail's. */
  filter: number;
  /** 0 fresh to 1 gum. */
  staleness: number;
  /** Share of time the pump draws air. */
  tankEmpty: number;
  /** Share of an injector's flow that is left; share of its full flow that it leaks when shut. */
  readonly injector: Float64Array;
  readonly injectorLeak: Float64Array;

  // Spark
  /** Share of the coil's energy; of what arrives, the share that a plug does not lose to ground. */
  readonly coil: Float64Array;
  readonly plug: Float64Array;
}

/** Share of a sound cylinder's charge that is lost a second at intake density: blow-by, and heat as if it were. */
export const soundLeak = 0.28;

export function healthy(cylinders: number): Damage {
  const each = (value: number): Float64Array => new Float64Array(cylinders).fill(value);
  return {
    batteryCharge: 0.95,
    batteryOhmFactor: 1,
    cableOhm: 0,
    groundOhm: 0,
    starterDrag: 0,
    alternator: 1,
    moduleOhm: 0,
    moduleDropout: 0,
    relayOpen: false,
    relayDropout: 0,
    relayOhm: 0,
    immobilised: false,
    frictionFactor: 1,
    valveSlip: 0,
    ringLeak: each(0),
    valveLeak: each(0),
    exhaustBlock: 1,
    thermostatOpen: 0,
    crankSignal: 1,
    crankDropout: 0,
    camSignal: true,
    meterScale: 1,
    manifoldHose: 0,
    coolantOffset: 0,
    coolantCircuit: "whole",
    throttleReads: 0,
    oxygenBias: 0,
    oxygenDead: false,
    exhaustAir: 0,
    leakArea: 0,
    portLeakArea: 0,
    purgeArea: 0,
    pump: 1,
    filter: 0,
    staleness: 0,
    tankEmpty: 0,
    injector: each(1),
    injectorLeak: each(0),
    coil: each(1),
    plug: each(1),
  };
}
