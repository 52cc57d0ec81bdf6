import type { CauseId } from "./causes.ts";

/** How far starting got: it ran by itself; it fired; the module saw it turn; none of these. */
export const startLevels = ["ran", "fired", "turned", "none"] as const;

/**
 * Of recordings of a vehicle that is said not to start: how far starting got in them, in the order of the levels. A
 * fault that is always there does not let it go further than it can: without a crank signal no speed is seen. One that
 * comes and goes may let it run. Estimates of common practice.
 */
export const startsSeen = {
  // One story with "turns and does not fire" and "fires and dies".
  group: "fired",
  otherwise: [0.3, 0.2, 0.46, 0.04],
  given: {
    "battery-discharged": [0.1, 0.04, 0.4, 0.46],
    "battery-worn": [0.22, 0.05, 0.38, 0.35],
    "cable-drop": [0.28, 0.04, 0.35, 0.33],
    "starter-feed-open": [0.12, 0.01, 0.02, 0.85],
    "starter-worn": [0.3, 0.02, 0.33, 0.35],
    "engine-tight": [0.12, 0.03, 0.35, 0.5],
    "alternator-dead": [0.25, 0.05, 0.38, 0.32],
    "belt-slack": [0.25, 0.05, 0.38, 0.32],
    "charging-wire": [0.25, 0.05, 0.38, 0.32],
    "module-supply": [0.3, 0.15, 0.3, 0.25],
    "module-fault": [0.1, 0.1, 0.5, 0.3],
    "crank-signal-dead": [0.01, 0.01, 0.02, 0.96],
    "crank-signal-contact": [0.45, 0.15, 0.22, 0.18],
    "crank-signal-weak": [0.25, 0.15, 0.4, 0.2],
    "relay-open": [0.02, 0.03, 0.92, 0.03],
    "relay-contact": [0.45, 0.2, 0.32, 0.03],
    immobiliser: [0.06, 0.44, 0.4, 0.1],
    "pump-dead": [0.02, 0.08, 0.87, 0.03],
    "fuel-empty": [0.03, 0.17, 0.77, 0.03],
    "spark-dead": [0.01, 0.02, 0.94, 0.03],
    "plugs-wet": [0.08, 0.15, 0.74, 0.03],
    "throttle-reads-open": [0.06, 0.04, 0.87, 0.03],
    "timing-slipped": [0.12, 0.15, 0.7, 0.03],
    "compression-all": [0.2, 0.14, 0.63, 0.03],
    "exhaust-blocked": [0.1, 0.45, 0.42, 0.03],
    "pressure-bleeds": [0.8, 0.05, 0.12, 0.03],
  },
  source: "common practice: estimates, to be corrected by counted visits",
} as const satisfies {
  readonly group: string;
  readonly otherwise: readonly number[];
  readonly given: Readonly<Partial<Record<CauseId, readonly number[]>>>;
  readonly source: string;
};
