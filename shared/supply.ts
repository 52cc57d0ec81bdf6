/**
 * When a starter pulls the supply down: the one rule for whoever follows the voltage, live or in a recording. Limits are
 * volts of a 12 V system and double on a 24 V one, whose two batteries stand in series. Pure.
 */

export type NominalVolts = 12 | 24;

/** Limits of a 12 V system, volts; times in milliseconds. */
export const supplyLimits = {
  /** More at rest is a 24 V system: one of 12 V is charged with 15 V at most, two empty batteries in series hold 22 V. */
  twentyFourAbove: 18,
  /** A battery at rest is not above this; more is the alternator's, and the engine being shut off is no sag. */
  restAtMost: 12.9,
  /** Below the level at rest by this is a starter (common practice); over when it is back to within that. */
  sag: 1,
  back: 0.6,
  /** Nobody cranks this long: such a sag is a load, as glow plugs are, and a new rest. */
  longestMs: 20_000,
  /** Rest follows a rise at once, and a fall by this time constant. */
  restFallMs: 8000,
} as const;

/** The nominal voltage of a supply that is this high at rest; volts. */
export function nominalOf(restVolts: number): NominalVolts {
  return restVolts > supplyLimits.twentyFourAbove ? 24 : 12;
}

/** How many times the volts of a 12 V system. */
export function supplyScale(restVolts: number | null): 1 | 2 {
  return restVolts !== null && nominalOf(restVolts) === 24 ? 2 : 1;
}

export interface SupplyState {
  readonly t: number;
  /** The level at rest; null before the first reading. */
  readonly restVolts: number | null;
  readonly nominal: NominalVolts;
  /** The last reading was too high for 12 V: two in a row make 24 V, one may be misread. */
  readonly high: boolean;
  /** Since when it is pulled down, milliseconds; null when it is not. */
  readonly sagSinceMs: number | null;
}

export const firstSupply: SupplyState = {
  t: 0,
  restVolts: null,
  nominal: 12,
  high: false,
  sagSinceMs: null,
};

/** The state after one more reading at `t`, milliseconds of one clock that never falls. */
export function foldSupply(state: SupplyState, t: number, volts: number): SupplyState {
  const high = nominalOf(volts) === 24;
  const nominal = state.nominal === 24 || (high && state.high) ? 24 : 12;
  const { restAtMost, sag, back, longestMs, restFallMs } = supplyLimits;
  const scale = nominal / 12;
  const known = Math.min(volts, restAtMost * scale);
  const rest = state.restVolts ?? known;
  const sagging = known <= rest - (state.sagSinceMs === null ? sag : back) * scale;
  const sagSinceMs = sagging ? (state.sagSinceMs ?? t) : null;
  // A new level at rest tells the nominal voltage anew: the adapter may stand in another vehicle by now.
  if (sagSinceMs !== null && t - sagSinceMs > longestMs)
    return { t, restVolts: known, nominal: nominalOf(known), high, sagSinceMs: null };
  const fall = Math.min(1, Math.max(0, t - state.t) / restFallMs);
  const restVolts = sagging ? rest : known > rest ? known : rest + (known - rest) * fall;
  return { t, restVolts, nominal, high, sagSinceMs };
}

/** The supply is near its level at rest: the starter is off. */
export function isRested({ restVolts, nominal }: SupplyState, volts: number): boolean {
  return restVolts === null || volts > restVolts - (supplyLimits.back * nominal) / 12;
}
