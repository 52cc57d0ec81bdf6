/**
 * What can be broken, each at its physical place. A healthy engine has `healthy()`; a fault changes numbers here
 * and nothing else, so every symptom has to come out of the physics.
 */
export interface Damage {
  /** State of charge at the start, 0 to 1, and factor on the internal resistance. */
  batteryCharge: number;
  batteryOhmFactor: number;
  /** Share of tooth signal voltage that arrives; 0 is an open circuit. */
  crankSignal: number;
  /** Share of time the crank circuit is open, in bursts. */
  crankDropout: number;
  /** Hole behind the air meter and throttle: area times discharge coefficient, m². */
  leakArea: number;
}

export function healthy(): Damage {
  return {
    batteryCharge: 0.95,
    batteryOhmFactor: 1,
    crankSignal: 1,
    crankDropout: 0,
    leakArea: 0,
  };
}
