/** What the control module orders; the engine obeys it every step. */
export interface Orders {
  pump: boolean;
  /** The main relay's coil is on. */
  relay: boolean;
  /** Idle air, m². */
  idleArea: number;
  /** Purge valve, m². */
  purgeArea: number;
  /** Exhaust gas led back, share of what the cylinders breathe. */
  egr: number;
  /** Throttle plate, 0 closed to 1 wide open, without the idle air. */
  throttle: number;
  /** Regulator aim, V. */
  chargeVolts: number;
  accessory: boolean;
  /** Glow plugs, 0 to 1. */
  glow: number;
  /** Current the vehicle draws, A. */
  loadAmp: number;
}

/** The control module's side of each cylinder's cycle. */
export interface CycleControl {
  /** Seconds the injector is held open for this cycle; 0 is none. */
  injection(position: number): number;
  /** Degrees before dead centre, or NaN for no spark. Told at every firing dead centre. */
  spark(position: number): number;
}

/** Everything off. */
export function noOrders(): Orders {
  return {
    ...{ pump: false, relay: false, idleArea: 0, purgeArea: 0, egr: 0, throttle: 0 },
    ...{ chargeVolts: 14.2, accessory: false, glow: 0, loadAmp: 0.03 },
  };
}
