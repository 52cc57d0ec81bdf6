/** Faults of battery, starter, supply and signals, as data. */
import type { Damage } from "./damage.ts";
import type { BenchVehicle } from "./vehicles.ts";

export interface BenchFaultRow {
  readonly id: string;
  readonly name: string;
  /** What is broken, physically. */
  readonly broken: string;
  /** Vehicles that have the part; all when not said. */
  readonly fits?: (vehicle: BenchVehicle) => boolean;
  readonly apply: (damage: Damage, severity: number, vehicle: BenchVehicle) => void;
}

const spark = (v: BenchVehicle): boolean => v.fuel === "petrol";

export const electricFaults: readonly BenchFaultRow[] = [
  {
    id: "weak-battery",
    name: "Weak battery",
    broken: "charge lost and plates sulphated: less voltage, more resistance",
    apply: (d, s) => {
      d.batteryCharge -= 0.7 * s;
      d.batteryOhmFactor *= 1 + 1.6 * s;
    },
  },
  {
    id: "cable-resistance",
    name: "Starter cable with resistance",
    broken: "a corroded joint in the starter's own cable, up to six tenths of the starter's own resistance",
    apply: (d, s, v) => {
      d.cableOhm += 0.62 * v.starterOhm * s;
    },
  },
  {
    id: "ground-resistance",
    name: "Engine ground with resistance",
    broken: "a corroded strap between engine and body, shared by starter, alternator and module",
    apply: (d, s, v) => {
      d.groundOhm += 0.5 * v.starterOhm * s;
    },
  },
  {
    id: "starter-drag",
    name: "Starter dragging",
    broken: "worn bushes and a rubbing armature eat the starter's torque",
    apply: (d, s, v) => {
      d.starterDrag += 25 * v.displacementL ** 0.7 * s;
    },
  },
  {
    id: "no-crank-signal",
    name: "No crank signal",
    broken: "crank sensor circuit open; below 1 the contact opens now and then",
    apply: (d, s) => {
      if (s >= 1) d.crankSignal = 0;
      else d.crankDropout = Math.max(d.crankDropout, s);
    },
  },
  {
    id: "crank-signal-dropout",
    name: "Crank signal dropping out",
    broken: "a loose contact at the crank sensor: open in bursts, up to 60 % of the time",
    apply: (d, s) => {
      d.crankDropout = Math.max(d.crankDropout, 0.6 * s);
    },
  },
  {
    id: "crank-signal-weak",
    name: "Crank signal weak",
    broken: "too wide a gap at the pickup: too little voltage at cranking speed, enough when faster",
    apply: (d, s) => {
      d.crankSignal *= 1 - 0.88 * s;
    },
  },
  {
    id: "no-cam-signal",
    name: "No cam signal",
    broken: "cam sensor circuit open",
    apply: (d, s) => {
      if (s >= 0.5) d.camSignal = false;
    },
  },
  {
    id: "relay-open",
    name: "Main relay open",
    broken: "the relay that feeds coils and injectors does not close",
    apply: (d, s) => {
      if (s >= 0.5) d.relayOpen = true;
    },
  },
  {
    id: "relay-intermittent",
    name: "Main relay intermittent",
    broken: "a burnt contact that opens in bursts, up to half of the time",
    apply: (d, s) => {
      d.relayDropout = Math.max(d.relayDropout, 0.5 * s);
    },
  },
  {
    id: "relay-resistance",
    name: "Main relay with resistance",
    broken: "a burnt contact of up to 0.8 Ω: coils and injectors get less voltage than the module knows",
    apply: (d, s) => {
      d.relayOhm += 0.8 * s;
    },
  },
  {
    id: "air-meter-low",
    name: "Air-flow meter reading low",
    broken: "dirt on the hot wire: up to 35 % too little is read",
    fits: (v) => v.metering === "air-flow" && spark(v),
    apply: (d, s) => {
      d.meterScale *= 1 - 0.35 * s;
    },
  },
  {
    id: "manifold-hose-off",
    name: "Manifold sensor hose off",
    broken:
      "the sensor's hose is off its port (1) or split (less): it sees the outside, and the port lets air in",
    fits: (v) => v.metering === "manifold-pressure" && spark(v),
    apply: (d, s) => {
      d.manifoldHose = Math.max(d.manifoldHose, s);
      d.leakArea += 2.5e-6 * s;
    },
  },
  {
    id: "coolant-reads-cold",
    name: "Coolant sensor reading cold",
    broken: "resistance in the coolant sensor's circuit: it reads up to 60 °C too cold",
    apply: (d, s) => {
      d.coolantOffset -= 60 * s;
    },
  },
  {
    id: "coolant-sensor-open",
    name: "Coolant sensor open",
    broken: "the coolant sensor's circuit is open",
    apply: (d, s) => {
      if (s >= 0.5) d.coolantCircuit = "open";
    },
  },
  {
    id: "coolant-sensor-shorted",
    name: "Coolant sensor shorted",
    broken: "the coolant sensor's circuit is shorted",
    apply: (d, s) => {
      if (s >= 0.5) d.coolantCircuit = "shorted";
    },
  },
  {
    id: "throttle-reads-open",
    name: "Throttle sensor reading wide open",
    broken: "the throttle sensor's signal is pulled up",
    fits: spark,
    apply: (d, s) => {
      d.throttleReads = Math.max(d.throttleReads, s);
    },
  },
  {
    id: "oxygen-sensor-biased",
    name: "Oxygen sensor biased low",
    broken: "the front sensor of bank 1 gives up to 0.5 V too little",
    fits: spark,
    apply: (d, s) => {
      d.oxygenBias -= 0.5 * s;
    },
  },
  {
    id: "oxygen-sensor-dead",
    name: "Oxygen sensor dead",
    broken: "the front sensor of bank 1 gives nothing",
    fits: spark,
    apply: (d, s) => {
      if (s >= 0.5) d.oxygenDead = true;
    },
  },
  {
    id: "immobiliser",
    name: "Immobiliser active",
    broken: "the key is not accepted: injection is withheld, or withdrawn after a second",
    apply: (d, s) => {
      if (s >= 0.5) d.immobilised = true;
    },
  },
  {
    id: "alternator-dead",
    name: "Alternator dead",
    broken: "the alternator gives little or nothing",
    apply: (d, s) => {
      d.alternator *= 1 - s;
    },
  },
  {
    id: "module-supply-drop",
    name: "Module supply dropping",
    broken: "resistance and a loose contact ahead of the control module, worst while the starter shakes it",
    apply: (d, s) => {
      d.moduleOhm += 0.5 * s;
      d.moduleDropout = Math.max(d.moduleDropout, 0.5 * s);
    },
  },
];
