import type { SaysRow } from "../types.ts";
import type { CauseId } from "./causes.ts";
import type { HandCheckId } from "./checks.ts";

const cp = "common practice: estimates, to be corrected by counted visits";

/**
 * How often each outcome of a hand check is met, in the order of its outcomes: for each cause that changes it, and
 * otherwise. Measuring error, mild cases and slips of the hand are in the figures, so nothing is 0 or 1.
 */
export const outcomesSay = {
  // charged, low, flat, lifted
  "rest-voltage": {
    group: "battery",
    otherwise: [0.86, 0.1, 0.03, 0.01],
    given: {
      "battery-discharged": [0.03, 0.3, 0.66, 0.01],
      "battery-worn": [0.25, 0.43, 0.31, 0.01],
      "alternator-dead": [0.1, 0.42, 0.47, 0.01],
      "belt-slack": [0.1, 0.42, 0.47, 0.01],
      "charging-wire": [0.1, 0.42, 0.47, 0.01],
    },
    source: cp,
  },
  // holds, falls
  "load-test": {
    group: "battery-load",
    otherwise: [0.96, 0.04],
    given: {
      "battery-worn": [0.06, 0.94],
      "battery-discharged": [0.45, 0.55],
      "alternator-dead": [0.6, 0.4],
      "belt-slack": [0.6, 0.4],
      "charging-wire": [0.6, 0.4],
    },
    source: cp,
  },
  // small, some, large
  "drop-cranking": {
    group: "cables",
    otherwise: [0.87, 0.11, 0.02],
    given: {
      "cable-drop": [0.03, 0.12, 0.85],
      "starter-worn": [0.6, 0.35, 0.05],
      "engine-tight": [0.6, 0.35, 0.05],
    },
    source: cp,
  },
  // starts, faster, same
  booster: {
    group: "booster",
    otherwise: [0.02, 0.13, 0.85],
    given: {
      "battery-discharged": [0.88, 0.08, 0.04],
      "battery-worn": [0.84, 0.1, 0.06],
      "alternator-dead": [0.88, 0.08, 0.04],
      "belt-slack": [0.88, 0.08, 0.04],
      "charging-wire": [0.88, 0.08, 0.04],
      "cable-drop": [0.3, 0.25, 0.45],
      "starter-worn": [0.15, 0.45, 0.4],
      "engine-tight": [0.12, 0.4, 0.48],
      "crank-signal-weak": [0.35, 0.35, 0.3],
      "compression-all": [0.08, 0.32, 0.6],
      "spark-weak": [0.2, 0.2, 0.6],
      "module-supply": [0.15, 0.15, 0.7],
    },
    source: cp,
  },
  // normal, slow, fast, free, click, silent
  "listen-starter": {
    group: "turning",
    otherwise: [0.94, 0.04, 0.008, 0.004, 0.004, 0.004],
    given: {
      "battery-discharged": [0.06, 0.48, 0.002, 0.008, 0.38, 0.07],
      "battery-worn": [0.1, 0.55, 0.002, 0.008, 0.3, 0.04],
      "alternator-dead": [0.1, 0.5, 0.002, 0.008, 0.33, 0.06],
      "belt-slack": [0.1, 0.5, 0.002, 0.008, 0.33, 0.06],
      "charging-wire": [0.1, 0.5, 0.002, 0.008, 0.33, 0.06],
      "cable-drop": [0.08, 0.52, 0.002, 0.008, 0.33, 0.06],
      "starter-worn": [0.06, 0.58, 0.002, 0.118, 0.2, 0.04],
      "engine-tight": [0.06, 0.62, 0.002, 0.008, 0.3, 0.01],
      "starter-feed-open": [0.02, 0.02, 0.002, 0.008, 0.1, 0.85],
      immobiliser: [0.86, 0.03, 0.004, 0.003, 0.003, 0.1],
      "compression-all": [0.45, 0.03, 0.5, 0.006, 0.007, 0.007],
      "timing-slipped": [0.6, 0.05, 0.32, 0.006, 0.017, 0.007],
      "head-gasket": [0.75, 0.12, 0.06, 0.005, 0.06, 0.005],
    },
    source: cp,
  },
  // there, missing
  "starter-feed": {
    group: "starter-feed",
    otherwise: [0.97, 0.03],
    given: {
      "starter-feed-open": [0.05, 0.95],
      "battery-discharged": [0.65, 0.35],
      "cable-drop": [0.75, 0.25],
      immobiliser: [0.88, 0.12],
    },
    source: cp,
  },
  // usual, high, little
  "current-starter": {
    group: "starter-current",
    otherwise: [0.9, 0.06, 0.04],
    given: {
      "engine-tight": [0.08, 0.91, 0.01],
      "starter-worn": [0.25, 0.55, 0.2],
      "cable-drop": [0.2, 0.03, 0.77],
      "battery-worn": [0.4, 0.05, 0.55],
      "battery-discharged": [0.35, 0.05, 0.6],
      "compression-all": [0.5, 0.03, 0.47],
      "timing-slipped": [0.6, 0.08, 0.32],
      "starter-feed-open": [0.03, 0.02, 0.95],
    },
    source: cp,
  },
  // humps, hard, easy
  "turn-by-hand": {
    group: "compression",
    otherwise: [0.95, 0.03, 0.02],
    given: {
      "engine-tight": [0.07, 0.92, 0.01],
      "compression-all": [0.2, 0.02, 0.78],
      "timing-slipped": [0.55, 0.1, 0.35],
      "valve-one": [0.7, 0.02, 0.28],
      "rings-one": [0.72, 0.03, 0.25],
      "head-gasket": [0.7, 0.08, 0.22],
    },
    source: cp,
  },
  // charges, little, much
  "alternator-output": {
    group: "charging",
    otherwise: [0.95, 0.04, 0.01],
    given: {
      "alternator-dead": [0.03, 0.96, 0.01],
      "belt-slack": [0.08, 0.91, 0.01],
      "charging-wire": [0.06, 0.93, 0.01],
      "battery-worn": [0.86, 0.12, 0.02],
      "cable-drop": [0.82, 0.16, 0.02],
    },
    source: cp,
  },
  // sound, slips, gone
  "belt-look": {
    group: "belt",
    otherwise: [0.93, 0.065, 0.005],
    given: { "belt-slack": [0.08, 0.72, 0.2] },
    source: cp,
  },
  // small, large
  "drop-charging": {
    group: "charging-drop",
    otherwise: [0.95, 0.05],
    given: {
      "charging-wire": [0.05, 0.95],
      "cable-drop": [0.45, 0.55],
    },
    source: cp,
  },
  // small, drop, none; a meter at the module's own pins
  "module-feed": {
    group: "module-pins",
    otherwise: [0.965, 0.03, 0.005],
    given: {
      "module-supply": [0.05, 0.6, 0.35],
      "relay-open": [0.8, 0.05, 0.15],
      "relay-burned": [0.75, 0.23, 0.02],
      "relay-contact": [0.82, 0.08, 0.1],
      "cable-drop": [0.6, 0.38, 0.02],
      "battery-discharged": [0.88, 0.11, 0.01],
    },
    source: cp,
  },
  // good, weak, none, goes; measured at the sensor itself: a story of its own beside what the module made of it
  "crank-sensor": {
    group: "crank-sensor",
    otherwise: [0.955, 0.03, 0.01, 0.005],
    given: {
      "crank-signal-dead": [0.02, 0.02, 0.94, 0.02],
      "crank-signal-contact": [0.27, 0.04, 0.14, 0.55],
      "crank-signal-weak": [0.07, 0.84, 0.05, 0.04],
      "module-supply": [0.88, 0.04, 0.06, 0.02],
    },
    source: cp,
  },
  // drops, same
  "plug-wiggle": {
    group: "wiggle",
    otherwise: [0.025, 0.975],
    given: {
      "crank-signal-contact": [0.8, 0.2],
      "crank-signal-dead": [0.1, 0.9],
      "module-supply": [0.06, 0.94],
    },
    source: cp,
  },
  // good, none, shifted
  "cam-sensor": {
    group: "cam-signal",
    otherwise: [0.965, 0.03, 0.005],
    given: {
      "cam-signal-dead": [0.04, 0.95, 0.01],
      "timing-slipped": [0.4, 0.05, 0.55],
    },
    source: cp,
  },
  // works, same
  "relay-swap": {
    group: "relay",
    otherwise: [0.012, 0.988],
    given: {
      "relay-open": [0.9, 0.1],
      "relay-contact": [0.82, 0.18],
      "relay-burned": [0.9, 0.1],
      "crank-signal-contact": [0.15, 0.85],
      "module-supply": [0.1, 0.9],
    },
    source: cp,
  },
  // returns, works
  "relay-back": {
    group: "relay-back",
    otherwise: [0.1, 0.9],
    given: {
      "relay-open": [0.94, 0.06],
      "relay-contact": [0.6, 0.4],
      "relay-burned": [0.94, 0.06],
    },
    source: cp,
  },
  // full, low, none
  "relay-volts": {
    group: "relay-output",
    otherwise: [0.95, 0.04, 0.01],
    given: {
      "relay-open": [0.03, 0.02, 0.95],
      "relay-contact": [0.35, 0.15, 0.5],
      "relay-burned": [0.05, 0.92, 0.03],
      "crank-signal-dead": [0.25, 0.02, 0.73],
      "crank-signal-contact": [0.55, 0.03, 0.42],
      "crank-signal-weak": [0.45, 0.03, 0.52],
      "module-supply": [0.4, 0.25, 0.35],
      "module-fault": [0.55, 0.05, 0.4],
      immobiliser: [0.7, 0.02, 0.28],
      "battery-discharged": [0.8, 0.19, 0.01],
      "battery-worn": [0.8, 0.19, 0.01],
    },
    source: cp,
  },
  // works, same
  "relay-bridge": {
    group: "relay",
    otherwise: [0.02, 0.98],
    given: {
      "relay-open": [0.92, 0.08],
      "relay-contact": [0.88, 0.12],
      "relay-burned": [0.9, 0.1],
      "module-supply": [0.1, 0.9],
      "module-fault": [0.25, 0.75],
    },
    source: cp,
  },
  // full, low, none
  "coil-volts": {
    group: "relay-output",
    otherwise: [0.945, 0.045, 0.01],
    given: {
      "relay-open": [0.04, 0.02, 0.94],
      "relay-contact": [0.38, 0.14, 0.48],
      "relay-burned": [0.07, 0.9, 0.03],
      "spark-dead": [0.65, 0.05, 0.3],
      "spark-weak": [0.75, 0.23, 0.02],
      "crank-signal-dead": [0.35, 0.02, 0.63],
      "crank-signal-contact": [0.6, 0.03, 0.37],
      "crank-signal-weak": [0.5, 0.03, 0.47],
      "module-supply": [0.45, 0.25, 0.3],
      "battery-discharged": [0.8, 0.19, 0.01],
      "battery-worn": [0.8, 0.19, 0.01],
    },
    source: cp,
  },
  // out, on
  "security-lamp": {
    group: "immobiliser",
    otherwise: [0.97, 0.03],
    given: {
      immobiliser: [0.06, 0.94],
      "module-supply": [0.82, 0.18],
      "battery-discharged": [0.92, 0.08],
    },
    source: cp,
  },
  // starts, same
  "second-key": {
    group: "immobiliser-key",
    otherwise: [0.015, 0.985],
    given: { immobiliser: [0.6, 0.4] },
    source: cp,
  },
  // crank-cam, supply, sensor, mixture, misfire, none
  "scan-again": {
    group: "codes",
    otherwise: [0.01, 0.015, 0.02, 0.025, 0.03, 0.9],
    given: {
      "crank-signal-dead": [0.65, 0.01, 0.01, 0.01, 0.01, 0.31],
      "crank-signal-contact": [0.5, 0.01, 0.01, 0.01, 0.04, 0.43],
      "crank-signal-weak": [0.35, 0.01, 0.01, 0.01, 0.02, 0.6],
      "cam-signal-dead": [0.85, 0.01, 0.01, 0.01, 0.02, 0.1],
      "timing-slipped": [0.5, 0.01, 0.02, 0.03, 0.08, 0.36],
      "relay-open": [0.01, 0.4, 0.02, 0.02, 0.01, 0.54],
      "relay-contact": [0.02, 0.3, 0.02, 0.02, 0.04, 0.6],
      "relay-burned": [0.01, 0.2, 0.02, 0.05, 0.06, 0.66],
      immobiliser: [0.01, 0.55, 0.01, 0.01, 0.01, 0.41],
      "module-supply": [0.02, 0.45, 0.03, 0.01, 0.02, 0.47],
      "module-fault": [0.02, 0.35, 0.03, 0.02, 0.03, 0.55],
      "alternator-dead": [0.01, 0.4, 0.02, 0.01, 0.01, 0.55],
      "belt-slack": [0.01, 0.4, 0.02, 0.01, 0.01, 0.55],
      "charging-wire": [0.01, 0.4, 0.02, 0.01, 0.01, 0.55],
      "pump-dead": [0.01, 0.3, 0.01, 0.06, 0.02, 0.6],
      "coolant-reads-cold": [0.01, 0.01, 0.72, 0.04, 0.01, 0.21],
      "coolant-reads-hot": [0.01, 0.01, 0.7, 0.03, 0.01, 0.24],
      "throttle-reads-open": [0.01, 0.01, 0.65, 0.01, 0.01, 0.31],
      "manifold-sensor": [0.01, 0.01, 0.6, 0.08, 0.02, 0.28],
      "air-meter-low": [0.01, 0.01, 0.25, 0.35, 0.03, 0.35],
      "air-meter-high": [0.01, 0.01, 0.25, 0.35, 0.02, 0.36],
      "oxygen-biased": [0.01, 0.01, 0.35, 0.3, 0.01, 0.32],
      "oxygen-dead": [0.01, 0.01, 0.75, 0.08, 0.01, 0.14],
      "thermostat-open": [0.01, 0.01, 0.55, 0.02, 0.01, 0.4],
      "air-leak-small": [0.01, 0.01, 0.01, 0.5, 0.08, 0.39],
      "air-leak-large": [0.01, 0.01, 0.02, 0.6, 0.1, 0.26],
      "pump-weak": [0.01, 0.02, 0.01, 0.5, 0.06, 0.4],
      "filter-blocked": [0.01, 0.01, 0.01, 0.48, 0.06, 0.43],
      "pressure-high": [0.01, 0.01, 0.01, 0.55, 0.05, 0.37],
      "injectors-clogged": [0.01, 0.01, 0.01, 0.4, 0.2, 0.37],
      "injectors-bank": [0.01, 0.01, 0.01, 0.5, 0.2, 0.27],
      "exhaust-leak": [0.01, 0.01, 0.03, 0.5, 0.02, 0.43],
      "purge-open": [0.01, 0.01, 0.05, 0.5, 0.03, 0.4],
      "coil-one": [0.01, 0.04, 0.01, 0.06, 0.75, 0.13],
      "plug-one": [0.01, 0.01, 0.01, 0.06, 0.74, 0.17],
      "injector-clogged-one": [0.01, 0.01, 0.01, 0.12, 0.65, 0.2],
      "injector-dead-one": [0.01, 0.2, 0.01, 0.05, 0.6, 0.13],
      "injector-open": [0.01, 0.01, 0.01, 0.3, 0.4, 0.27],
      "valve-one": [0.01, 0.01, 0.01, 0.03, 0.72, 0.22],
      "rings-one": [0.01, 0.01, 0.01, 0.03, 0.55, 0.39],
      "head-gasket": [0.01, 0.01, 0.01, 0.03, 0.55, 0.39],
      "spark-weak": [0.01, 0.01, 0.01, 0.07, 0.6, 0.3],
      "egr-open": [0.01, 0.01, 0.25, 0.03, 0.3, 0.4],
    },
    source: cp,
  },
  // no-change, starts; fuel from a can, whatever the gauge says
  "fuel-level": {
    group: "fuel-poured",
    otherwise: [0.985, 0.015],
    given: {
      "fuel-empty": [0.05, 0.95],
      "fuel-stale": [0.75, 0.25],
    },
    source: cp,
  },
  // fresh, old, water
  "fuel-glass": {
    group: "fuel-quality",
    otherwise: [0.94, 0.05, 0.01],
    given: { "fuel-stale": [0.08, 0.7, 0.22] },
    source: cp,
  },
  // hums, silent
  "pump-listen": {
    group: "pump-runs",
    otherwise: [0.95, 0.05],
    given: {
      "pump-dead": [0.1, 0.9],
      "relay-open": [0.4, 0.6],
      "relay-contact": [0.7, 0.3],
      "relay-burned": [0.85, 0.15],
      "module-supply": [0.55, 0.45],
      "module-fault": [0.7, 0.3],
      immobiliser: [0.75, 0.25],
      "pump-weak": [0.88, 0.12],
    },
    source: cp,
  },
  // right, low, none, high
  "fuel-pressure": {
    group: "fuel-pressure",
    otherwise: [0.93, 0.04, 0.01, 0.02],
    given: {
      "pump-dead": [0.02, 0.05, 0.925, 0.005],
      "pump-weak": [0.22, 0.72, 0.055, 0.005],
      "filter-blocked": [0.5, 0.465, 0.03, 0.005],
      "fuel-empty": [0.1, 0.3, 0.595, 0.005],
      "relay-open": [0.35, 0.1, 0.545, 0.005],
      "relay-contact": [0.65, 0.1, 0.245, 0.005],
      "relay-burned": [0.6, 0.36, 0.035, 0.005],
      "pressure-bleeds": [0.6, 0.365, 0.03, 0.005],
      "pressure-high": [0.06, 0.01, 0.005, 0.925],
      "module-supply": [0.6, 0.1, 0.295, 0.005],
      immobiliser: [0.75, 0.04, 0.205, 0.005],
      "injector-open": [0.75, 0.23, 0.01, 0.01],
    },
    source: cp,
  },
  // holds, falls, none, high
  "fuel-pressure-load": {
    group: "fuel-pressure",
    otherwise: [0.92, 0.055, 0.01, 0.015],
    given: {
      "pump-dead": [0.02, 0.04, 0.935, 0.005],
      "pump-weak": [0.08, 0.87, 0.045, 0.005],
      "filter-blocked": [0.1, 0.865, 0.03, 0.005],
      "fuel-empty": [0.08, 0.32, 0.595, 0.005],
      "relay-open": [0.3, 0.1, 0.595, 0.005],
      "relay-contact": [0.5, 0.2, 0.295, 0.005],
      "relay-burned": [0.45, 0.5, 0.045, 0.005],
      "pressure-high": [0.06, 0.01, 0.005, 0.925],
      "crank-signal-dead": [0.45, 0.3, 0.245, 0.005],
      "crank-signal-contact": [0.7, 0.15, 0.145, 0.005],
      "crank-signal-weak": [0.55, 0.24, 0.205, 0.005],
      "module-supply": [0.6, 0.15, 0.245, 0.005],
      immobiliser: [0.7, 0.1, 0.195, 0.005],
      "injector-open": [0.75, 0.23, 0.01, 0.01],
    },
    source: cp,
  },
  // holds, falls
  "bleed-down": {
    group: "fuel-bleed",
    otherwise: [0.93, 0.07],
    given: {
      "pressure-bleeds": [0.05, 0.95],
      "injector-open": [0.12, 0.88],
      "pump-weak": [0.8, 0.2],
    },
    source: cp,
  },
  // full, low, none
  "pump-volts": {
    group: "pump-feed",
    otherwise: [0.945, 0.045, 0.01],
    given: {
      "pump-dead": [0.86, 0.06, 0.08],
      "relay-open": [0.35, 0.03, 0.62],
      "relay-contact": [0.6, 0.12, 0.28],
      "relay-burned": [0.4, 0.55, 0.05],
      "crank-signal-dead": [0.65, 0.03, 0.32],
      "crank-signal-weak": [0.75, 0.03, 0.22],
      immobiliser: [0.75, 0.03, 0.22],
      "module-supply": [0.55, 0.2, 0.25],
      "module-fault": [0.65, 0.05, 0.3],
      "battery-discharged": [0.8, 0.19, 0.01],
      "battery-worn": [0.8, 0.19, 0.01],
    },
    source: cp,
  },
  // usual, little, much
  "pump-current": {
    group: "pump-current",
    otherwise: [0.93, 0.04, 0.03],
    given: {
      "pump-dead": [0.02, 0.88, 0.1],
      "pump-weak": [0.22, 0.72, 0.06],
      "filter-blocked": [0.3, 0.02, 0.68],
      "fuel-empty": [0.2, 0.78, 0.02],
      "pressure-high": [0.4, 0.01, 0.59],
      "relay-open": [0.4, 0.59, 0.01],
      "relay-burned": [0.55, 0.44, 0.01],
    },
    source: cp,
  },
  // free, blocked
  "filter-flow": {
    group: "filter",
    otherwise: [0.95, 0.05],
    given: { "filter-blocked": [0.06, 0.94] },
    source: cp,
  },
  // fires, nothing
  "add-fuel": {
    group: "add-fuel",
    otherwise: [0.3, 0.7],
    given: {
      "fuel-empty": [0.9, 0.1],
      "fuel-stale": [0.75, 0.25],
      "pump-dead": [0.92, 0.08],
      "pump-weak": [0.88, 0.12],
      "filter-blocked": [0.88, 0.12],
      "pressure-bleeds": [0.8, 0.2],
      "injectors-clogged": [0.88, 0.12],
      "coolant-reads-hot": [0.85, 0.15],
      "throttle-reads-open": [0.88, 0.12],
      immobiliser: [0.75, 0.25],
      "air-leak-large": [0.65, 0.35],
      "idle-air-low": [0.4, 0.6],
      "relay-open": [0.08, 0.92],
      "relay-contact": [0.3, 0.7],
      "relay-burned": [0.45, 0.55],
      "crank-signal-dead": [0.02, 0.98],
      "crank-signal-contact": [0.2, 0.8],
      "crank-signal-weak": [0.1, 0.9],
      "spark-dead": [0.015, 0.985],
      "spark-weak": [0.25, 0.75],
      "plugs-wet": [0.06, 0.94],
      "coolant-reads-cold": [0.08, 0.92],
      "injector-open": [0.1, 0.9],
      "pressure-high": [0.1, 0.9],
      "timing-slipped": [0.08, 0.92],
      "compression-all": [0.12, 0.88],
      "exhaust-blocked": [0.2, 0.8],
      "module-supply": [0.12, 0.88],
      "module-fault": [0.15, 0.85],
      "battery-discharged": [0.1, 0.9],
      "battery-worn": [0.1, 0.9],
      "cable-drop": [0.1, 0.9],
      "starter-worn": [0.12, 0.88],
      "starter-feed-open": [0.01, 0.99],
      "engine-tight": [0.08, 0.92],
    },
    source: cp,
  },
  // smoother, worse, same
  "fuel-added-idle": {
    group: "add-fuel",
    otherwise: [0.06, 0.3, 0.64],
    given: {
      "injectors-clogged": [0.85, 0.03, 0.12],
      "injectors-bank": [0.78, 0.05, 0.17],
      "injector-clogged-one": [0.65, 0.07, 0.28],
      "injector-dead-one": [0.3, 0.2, 0.5],
      "pump-weak": [0.83, 0.03, 0.14],
      "filter-blocked": [0.78, 0.04, 0.18],
      "air-leak-small": [0.83, 0.04, 0.13],
      "air-leak-large": [0.85, 0.04, 0.11],
      "air-meter-low": [0.83, 0.04, 0.13],
      "relay-burned": [0.7, 0.06, 0.24],
      "fuel-stale": [0.6, 0.1, 0.3],
      "coil-one": [0.04, 0.16, 0.8],
      "plug-one": [0.05, 0.17, 0.78],
      "valve-one": [0.05, 0.17, 0.78],
      "rings-one": [0.05, 0.17, 0.78],
      "spark-weak": [0.12, 0.25, 0.63],
      "exhaust-leak": [0.06, 0.65, 0.29],
      "oxygen-biased": [0.15, 0.5, 0.35],
      "oxygen-dead": [0.08, 0.62, 0.3],
      "pressure-high": [0.02, 0.88, 0.1],
      "purge-open": [0.1, 0.75, 0.15],
      "injector-open": [0.04, 0.83, 0.13],
      "coolant-reads-cold": [0.03, 0.8, 0.17],
      "air-meter-high": [0.03, 0.85, 0.12],
      "oil-fuel": [0.04, 0.8, 0.16],
    },
    source: cp,
  },
  // flickers, dark, steady
  "injector-pulse": {
    group: "injector-pulse",
    otherwise: [0.97, 0.02, 0.01],
    given: {
      "crank-signal-dead": [0.02, 0.97, 0.01],
      "crank-signal-contact": [0.5, 0.49, 0.01],
      "crank-signal-weak": [0.22, 0.77, 0.01],
      "relay-open": [0.05, 0.94, 0.01],
      "relay-contact": [0.52, 0.47, 0.01],
      "relay-burned": [0.82, 0.17, 0.01],
      immobiliser: [0.25, 0.74, 0.01],
      "throttle-reads-open": [0.06, 0.93, 0.01],
      "module-supply": [0.4, 0.58, 0.02],
      "module-fault": [0.4, 0.54, 0.06],
      "cam-signal-dead": [0.85, 0.14, 0.01],
      "injector-dead-one": [0.1, 0.88, 0.02],
      "injector-open": [0.93, 0.02, 0.05],
    },
    source: cp,
  },
  // alike, odd
  "injector-ohms": {
    group: "injector-coil",
    otherwise: [0.97, 0.03],
    given: {
      "injector-dead-one": [0.75, 0.25],
      "injector-clogged-one": [0.93, 0.07],
      "injector-open": [0.92, 0.08],
    },
    source: cp,
  },
  // mist, little, drips
  "pulse-spray": {
    group: "spray",
    otherwise: [0.95, 0.035, 0.015],
    given: {
      "injectors-clogged": [0.05, 0.94, 0.01],
      "injectors-bank": [0.07, 0.92, 0.01],
      "injector-clogged-one": [0.06, 0.93, 0.01],
      "injector-dead-one": [0.15, 0.83, 0.02],
      "injector-open": [0.05, 0.08, 0.87],
      "fuel-stale": [0.75, 0.23, 0.02],
      "relay-burned": [0.65, 0.33, 0.02],
    },
    source: cp,
  },
  // even, uneven
  "injector-balance": {
    group: "spray",
    otherwise: [0.95, 0.05],
    given: {
      "injector-clogged-one": [0.06, 0.94],
      "injector-dead-one": [0.35, 0.65],
      "injector-open": [0.3, 0.7],
      "injectors-clogged": [0.45, 0.55],
      "injectors-bank": [0.1, 0.9],
    },
    source: cp,
  },
  // moves, stays
  "injector-moved": {
    group: "injector-moved",
    otherwise: [0.015, 0.985],
    given: {
      "injector-clogged-one": [0.92, 0.08],
      "injector-open": [0.88, 0.12],
      "injector-dead-one": [0.08, 0.92],
    },
    source: cp,
  },
  // starts, same
  "clear-flood": {
    group: "flood",
    otherwise: [0.03, 0.97],
    given: {
      "plugs-wet": [0.6, 0.4],
      "coolant-reads-cold": [0.5, 0.5],
      "injector-open": [0.4, 0.6],
      "pressure-high": [0.2, 0.8],
      "purge-open": [0.3, 0.7],
      "idle-air-low": [0.55, 0.45],
    },
    source: cp,
  },
  // normal, fuel, milky
  "oil-look": {
    group: "oil",
    otherwise: [0.95, 0.035, 0.015],
    given: {
      "oil-fuel": [0.05, 0.94, 0.01],
      "injector-open": [0.6, 0.39, 0.01],
      "pressure-high": [0.75, 0.24, 0.01],
      "plugs-wet": [0.78, 0.21, 0.01],
      "coolant-reads-cold": [0.75, 0.24, 0.01],
      "head-gasket": [0.55, 0.02, 0.43],
    },
    source: cp,
  },
  // all, missing
  "glow-current": {
    group: "glow",
    otherwise: [0.95, 0.05],
    given: { "glow-dead": [0.05, 0.95] },
    source: cp,
  },
  // clear, bubbles
  "fuel-bubbles": {
    group: "fuel-air",
    otherwise: [0.95, 0.05],
    given: { "fuel-air": [0.07, 0.93], "fuel-empty": [0.1, 0.9] },
    source: cp,
  },
  // good, weak, none
  "spark-test": {
    group: "spark",
    otherwise: [0.95, 0.04, 0.01],
    given: {
      "spark-dead": [0.01, 0.04, 0.95],
      "spark-weak": [0.1, 0.86, 0.04],
      "coil-one": [0.1, 0.4, 0.5],
      "plug-one": [0.86, 0.1, 0.04],
      "crank-signal-dead": [0.01, 0.02, 0.97],
      "crank-signal-contact": [0.5, 0.12, 0.38],
      "crank-signal-weak": [0.2, 0.15, 0.65],
      "relay-open": [0.04, 0.02, 0.94],
      "relay-contact": [0.5, 0.15, 0.35],
      "relay-burned": [0.35, 0.6, 0.05],
      "module-supply": [0.4, 0.25, 0.35],
      "module-fault": [0.4, 0.1, 0.5],
      immobiliser: [0.85, 0.03, 0.12],
      "cam-signal-dead": [0.85, 0.05, 0.1],
      "battery-discharged": [0.7, 0.28, 0.02],
      "battery-worn": [0.72, 0.26, 0.02],
    },
    source: cp,
  },
  // moves, stays
  "swap-coil": {
    group: "coil-moved",
    otherwise: [0.012, 0.988],
    given: { "coil-one": [0.95, 0.05], "plug-one": [0.06, 0.94] },
    source: cp,
  },
  // returns, gone
  "coil-back": {
    group: "coil-back",
    otherwise: [0.15, 0.85],
    given: { "coil-one": [0.95, 0.05] },
    source: cp,
  },
  // moves, stays
  "swap-plug": {
    group: "plug-moved",
    otherwise: [0.015, 0.985],
    given: { "plug-one": [0.85, 0.15], "coil-one": [0.06, 0.94] },
    source: cp,
  },
  // normal, wet, black, white, worn, oily
  "plugs-look": {
    group: "plugs",
    otherwise: [0.72, 0.08, 0.05, 0.07, 0.06, 0.02],
    given: {
      "plugs-wet": [0.04, 0.89, 0.04, 0.01, 0.01, 0.01],
      "spark-dead": [0.1, 0.82, 0.03, 0.02, 0.02, 0.01],
      "spark-weak": [0.12, 0.43, 0.06, 0.03, 0.34, 0.02],
      "coil-one": [0.25, 0.6, 0.06, 0.03, 0.04, 0.02],
      "plug-one": [0.08, 0.2, 0.07, 0.03, 0.58, 0.04],
      "pump-dead": [0.4, 0.02, 0.02, 0.48, 0.06, 0.02],
      "fuel-empty": [0.42, 0.03, 0.02, 0.46, 0.05, 0.02],
      "relay-open": [0.4, 0.03, 0.02, 0.47, 0.06, 0.02],
      "crank-signal-dead": [0.4, 0.03, 0.02, 0.47, 0.06, 0.02],
      "throttle-reads-open": [0.4, 0.03, 0.02, 0.47, 0.06, 0.02],
      immobiliser: [0.45, 0.05, 0.02, 0.4, 0.06, 0.02],
      "injectors-clogged": [0.3, 0.02, 0.02, 0.58, 0.06, 0.02],
      "injectors-bank": [0.35, 0.02, 0.02, 0.53, 0.06, 0.02],
      "injector-clogged-one": [0.3, 0.02, 0.02, 0.58, 0.06, 0.02],
      "injector-dead-one": [0.3, 0.02, 0.02, 0.58, 0.06, 0.02],
      "pump-weak": [0.4, 0.02, 0.02, 0.48, 0.06, 0.02],
      "filter-blocked": [0.4, 0.02, 0.02, 0.48, 0.06, 0.02],
      "air-leak-small": [0.5, 0.02, 0.03, 0.37, 0.06, 0.02],
      "air-leak-large": [0.4, 0.02, 0.03, 0.47, 0.06, 0.02],
      "air-meter-low": [0.5, 0.02, 0.02, 0.38, 0.06, 0.02],
      "coolant-reads-cold": [0.1, 0.45, 0.38, 0.02, 0.04, 0.01],
      "injector-open": [0.1, 0.45, 0.39, 0.02, 0.03, 0.01],
      "pressure-high": [0.15, 0.17, 0.62, 0.02, 0.03, 0.01],
      "purge-open": [0.4, 0.08, 0.44, 0.04, 0.03, 0.01],
      "air-meter-high": [0.25, 0.08, 0.6, 0.03, 0.03, 0.01],
      "oxygen-biased": [0.35, 0.03, 0.38, 0.17, 0.05, 0.02],
      "exhaust-leak": [0.4, 0.03, 0.42, 0.08, 0.05, 0.02],
      "oil-fuel": [0.35, 0.08, 0.48, 0.03, 0.03, 0.03],
      "compression-all": [0.3, 0.25, 0.06, 0.02, 0.05, 0.32],
      "rings-one": [0.22, 0.12, 0.06, 0.02, 0.04, 0.54],
      "valve-one": [0.55, 0.2, 0.08, 0.06, 0.06, 0.05],
      "timing-slipped": [0.45, 0.38, 0.07, 0.03, 0.05, 0.02],
    },
    source: cp,
  },
  // even, one, several
  "unplug-cylinder": {
    group: "cylinder-balance",
    otherwise: [0.9, 0.07, 0.03],
    given: {
      "coil-one": [0.04, 0.94, 0.02],
      "plug-one": [0.07, 0.9, 0.03],
      "injector-clogged-one": [0.1, 0.87, 0.03],
      "injector-dead-one": [0.03, 0.95, 0.02],
      "injector-open": [0.25, 0.7, 0.05],
      "valve-one": [0.08, 0.89, 0.03],
      "rings-one": [0.25, 0.72, 0.03],
      "head-gasket": [0.12, 0.45, 0.43],
      "injectors-clogged": [0.4, 0.28, 0.32],
      "injectors-bank": [0.15, 0.25, 0.6],
      "spark-weak": [0.45, 0.25, 0.3],
      "egr-open": [0.65, 0.12, 0.23],
      "air-leak-small": [0.68, 0.24, 0.08],
    },
    source: cp,
  },
  // even, one, two, all
  compression: {
    group: "compression",
    otherwise: [0.94, 0.045, 0.005, 0.01],
    given: {
      "compression-all": [0.04, 0.06, 0.01, 0.89],
      "valve-one": [0.05, 0.92, 0.02, 0.01],
      "rings-one": [0.06, 0.9, 0.03, 0.01],
      "head-gasket": [0.15, 0.28, 0.55, 0.02],
      "timing-slipped": [0.25, 0.03, 0.02, 0.7],
      "plugs-wet": [0.8, 0.05, 0.01, 0.14],
      "injector-open": [0.85, 0.13, 0.01, 0.01],
    },
    source: cp,
  },
  // better, same
  "wet-test": {
    group: "wet",
    otherwise: [0.4, 0.6],
    given: {
      "rings-one": [0.92, 0.08],
      "compression-all": [0.8, 0.2],
      "plugs-wet": [0.85, 0.15],
      "valve-one": [0.06, 0.94],
      "head-gasket": [0.08, 0.92],
      "timing-slipped": [0.1, 0.9],
    },
    source: cp,
  },
  // tight, valve, rings, gasket; where it leaks, which no compression figure tells
  "leak-down": {
    group: "leak-down",
    otherwise: [0.95, 0.025, 0.02, 0.005],
    given: {
      "valve-one": [0.04, 0.93, 0.02, 0.01],
      "rings-one": [0.06, 0.03, 0.9, 0.01],
      "head-gasket": [0.1, 0.04, 0.04, 0.82],
      "compression-all": [0.08, 0.17, 0.74, 0.01],
      "timing-slipped": [0.55, 0.4, 0.04, 0.01],
      "engine-tight": [0.85, 0.05, 0.08, 0.02],
    },
    source: cp,
  },
  // agree, off
  "timing-marks": {
    group: "timing",
    otherwise: [0.975, 0.025],
    given: { "timing-slipped": [0.04, 0.96] },
    source: cp,
  },
  // clean, valve, wall, washed
  "bore-look": {
    group: "bore",
    otherwise: [0.94, 0.02, 0.025, 0.015],
    given: {
      "valve-one": [0.4, 0.57, 0.02, 0.01],
      "rings-one": [0.4, 0.02, 0.57, 0.01],
      "head-gasket": [0.4, 0.02, 0.02, 0.56],
      "compression-all": [0.4, 0.08, 0.51, 0.01],
      "timing-slipped": [0.65, 0.33, 0.01, 0.01],
      "engine-tight": [0.6, 0.03, 0.17, 0.2],
      "injector-open": [0.7, 0.01, 0.02, 0.27],
      "plugs-wet": [0.75, 0.01, 0.02, 0.22],
    },
    source: cp,
  },
  // steady, low, swings, sinks
  "vacuum-gauge": {
    group: "manifold",
    otherwise: [0.87, 0.07, 0.05, 0.01],
    given: {
      "timing-slipped": [0.08, 0.82, 0.08, 0.02],
      "exhaust-blocked": [0.1, 0.16, 0.03, 0.71],
      "air-leak-small": [0.35, 0.58, 0.06, 0.01],
      "air-leak-large": [0.1, 0.84, 0.05, 0.01],
      "valve-one": [0.12, 0.1, 0.77, 0.01],
      "rings-one": [0.38, 0.3, 0.31, 0.01],
      "head-gasket": [0.15, 0.12, 0.72, 0.01],
      "compression-all": [0.2, 0.67, 0.12, 0.01],
      "egr-open": [0.22, 0.66, 0.11, 0.01],
      "coil-one": [0.42, 0.22, 0.35, 0.01],
      "plug-one": [0.45, 0.2, 0.34, 0.01],
      "injector-clogged-one": [0.5, 0.2, 0.29, 0.01],
      "injector-dead-one": [0.42, 0.22, 0.35, 0.01],
      "purge-open": [0.55, 0.4, 0.04, 0.01],
    },
    source: cp,
  },
  // freer, same
  "exhaust-open": {
    group: "exhaust",
    otherwise: [0.015, 0.985],
    given: { "exhaust-blocked": [0.92, 0.08] },
    source: cp,
  },
  // low, high
  "back-pressure": {
    group: "exhaust",
    otherwise: [0.97, 0.03],
    given: { "exhaust-blocked": [0.05, 0.95] },
    source: cp,
  },
  // tight, small, large
  smoke: {
    group: "air-leak",
    otherwise: [0.93, 0.06, 0.01],
    given: {
      "air-leak-small": [0.06, 0.9, 0.04],
      "air-leak-large": [0.02, 0.13, 0.85],
      "manifold-sensor": [0.5, 0.47, 0.03],
      "egr-open": [0.85, 0.14, 0.01],
      "exhaust-leak": [0.9, 0.09, 0.01],
    },
    source: cp,
  },
  // changes, same; an experiment, not a look
  "intake-sealed": {
    group: "intake-sealed",
    otherwise: [0.02, 0.98],
    given: {
      "air-leak-small": [0.78, 0.22],
      "air-leak-large": [0.85, 0.15],
      "manifold-sensor": [0.2, 0.8],
      "purge-open": [0.4, 0.6],
    },
    source: cp,
  },
  // returns, gone
  "intake-reopened": {
    group: "air-leak-back",
    otherwise: [0.2, 0.8],
    given: { "air-leak-small": [0.92, 0.08], "air-leak-large": [0.95, 0.05], "purge-open": [0.85, 0.15] },
    source: cp,
  },
  // whole, open
  "duct-look": {
    group: "air-leak-look",
    otherwise: [0.97, 0.03],
    given: {
      "air-leak-large": [0.15, 0.85],
      "air-leak-small": [0.7, 0.3],
      "manifold-sensor": [0.5, 0.5],
    },
    source: cp,
  },
  // better, same
  "meter-unplug": {
    group: "air-meter",
    otherwise: [0.02, 0.98],
    given: { "air-meter-low": [0.78, 0.22], "air-meter-high": [0.78, 0.22], "air-leak-large": [0.15, 0.85] },
    source: cp,
  },
  // better, same
  "meter-clean": {
    group: "air-meter",
    otherwise: [0.04, 0.96],
    given: { "air-meter-low": [0.65, 0.35], "air-meter-high": [0.25, 0.75] },
    source: cp,
  },
  // changes, same
  "purge-clamp": {
    group: "purge",
    otherwise: [0.015, 0.985],
    given: { "purge-open": [0.93, 0.07] },
    source: cp,
  },
  // better, same
  "egr-blocked": {
    group: "egr",
    otherwise: [0.015, 0.985],
    given: { "egr-open": [0.92, 0.08] },
    source: cp,
  },
  // stays, same
  "pedal-hold": {
    group: "pedal-hold",
    otherwise: [0.05, 0.95],
    given: {
      "idle-air-low": [0.9, 0.1],
      "air-leak-large": [0.2, 0.8],
      "egr-open": [0.55, 0.45],
      "manifold-sensor": [0.2, 0.8],
      "purge-open": [0.4, 0.6],
      "air-meter-low": [0.2, 0.8],
      "coolant-reads-cold": [0.3, 0.7],
      "injectors-clogged": [0.2, 0.8],
      "fuel-stale": [0.25, 0.75],
      "plugs-wet": [0.2, 0.8],
    },
    source: cp,
  },
  // clean, dirty
  "throttle-look": {
    group: "throttle-dirt",
    otherwise: [0.8, 0.2],
    given: { "idle-air-low": [0.07, 0.93] },
    source: cp,
  },
  // follows, wrong; measured at the sensor itself
  "sensor-pressure": {
    group: "manifold-sensor-own",
    otherwise: [0.97, 0.03],
    given: { "manifold-sensor": [0.05, 0.95] },
    source: cp,
  },
  // follows, open
  "pedal-down": {
    group: "throttle-sensor",
    otherwise: [0.97, 0.03],
    given: { "throttle-reads-open": [0.03, 0.97] },
    source: cp,
  },
  // agree, colder, hotter; another thermometer beside the sensor
  infrared: {
    group: "coolant-true",
    otherwise: [0.95, 0.03, 0.02],
    given: {
      "coolant-reads-cold": [0.04, 0.95, 0.01],
      "coolant-reads-hot": [0.04, 0.01, 0.95],
    },
    source: cp,
  },
  // right, sensor, wiring; what the module makes of an open and of a bridged plug
  "sensor-unplug": {
    group: "coolant-circuit",
    otherwise: [0.95, 0.035, 0.015],
    given: {
      "coolant-reads-cold": [0.06, 0.62, 0.32],
      "coolant-reads-hot": [0.06, 0.62, 0.32],
    },
    source: cp,
  },
  // swings, short, still; provoked: whether it answers at all, however the mixture stood
  "oxygen-propane": {
    group: "oxygen-provoked",
    otherwise: [0.94, 0.04, 0.02],
    given: {
      "oxygen-biased": [0.15, 0.75, 0.1],
      "oxygen-dead": [0.02, 0.08, 0.9],
      "exhaust-leak": [0.55, 0.43, 0.02],
    },
    source: cp,
  },
  // none, leak
  "exhaust-leak": {
    group: "exhaust-leak",
    otherwise: [0.94, 0.06],
    given: { "exhaust-leak": [0.12, 0.88] },
    source: cp,
  },
  // late, early
  "thermostat-hose": {
    group: "thermostat",
    otherwise: [0.95, 0.05],
    given: { "thermostat-open": [0.06, 0.94] },
    source: cp,
  },
} as const satisfies Record<HandCheckId, SaysRow<CauseId>>;
