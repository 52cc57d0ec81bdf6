/**
 * A battery that is low while the engine is off, and what reading may still cost it. Each request keeps the vehicle's
 * modules awake; the voltage is measured by the adapter itself and wakes nobody. Pure. Volts are of a 12 V system and
 * double on a 24 V one.
 */
import { firstSupply, foldSupply, type SupplyState } from "../../shared/supply.ts";

/** At rest and below this a battery is discharged far enough to be spared. Common practice. */
const lowVolts = 12.0;
/** At this it has been charged, or swapped, since. */
const recoveredVolts = 12.2;
/** Low for so long before it counts: key on, lamps and glow plugs pull a good battery down for a while. */
const lowForMs = 30_000;
/** A step of the voltage this large is a person at the vehicle: then nothing is spared for a while. */
const stirVolts = 0.4;
const stirredForMs = 30_000;

/** While it is spared: the vehicle is asked no more often than this, and the voltage read this often. */
export const sparedEveryMs = 2000;
export const sparedVoltsEveryMs = 250;

export interface BatteryState {
  readonly supply: SupplyState;
  /** The last voltage, and a slow mean of those before. */
  readonly volts: number | null;
  readonly meanVolts: number | null;
  readonly lowSinceMs: number | null;
  readonly low: boolean;
  readonly stirredMs: number;
}

export const firstBattery: BatteryState = {
  supply: firstSupply,
  volts: null,
  meanVolts: null,
  lowSinceMs: null,
  low: false,
  stirredMs: Number.NEGATIVE_INFINITY,
};

export type BatteryInput =
  | { readonly kind: "volts"; readonly now: number; readonly volts: number }
  /** null: asked, no answer. */
  | { readonly kind: "speed"; readonly now: number; readonly rpm: number | null }
  /** A person asked for something: cranking is waited for, other channels are read. */
  | { readonly kind: "arm"; readonly now: number };

export function foldBattery(state: BatteryState, input: BatteryInput): BatteryState {
  switch (input.kind) {
    case "arm":
      return { ...state, stirredMs: input.now };
    case "speed":
      // A turning engine is no rest: what is measured then says nothing of the battery.
      if (input.rpm === null || input.rpm <= 0) return state;
      return { ...state, low: false, lowSinceMs: null, stirredMs: input.now };
    case "volts":
      return withVolts(state, input.volts, input.now);
  }
}

function withVolts(state: BatteryState, volts: number, now: number): BatteryState {
  const supply = foldSupply(state.supply, now, volts);
  const scale = supply.nominal / 12;
  const mean = state.meanVolts ?? volts;
  const stirredMs = Math.abs(volts - mean) >= stirVolts * scale ? now : state.stirredMs;
  const meanVolts = mean + (volts - mean) * 0.1;
  if (volts >= recoveredVolts * scale)
    return { supply, volts, meanVolts, lowSinceMs: null, low: false, stirredMs };
  const lowSinceMs =
    volts < lowVolts * scale ? (state.lowSinceMs ?? now) : state.low ? state.lowSinceMs : null;
  const low = state.low || (lowSinceMs !== null && now - lowSinceMs >= lowForMs);
  return { supply, volts, meanVolts, lowSinceMs, low, stirredMs };
}

/** The vehicle is to be asked seldom: its battery is low, and nobody is doing anything with it. */
export function isSpared(state: BatteryState, now: number): boolean {
  return state.low && now - state.stirredMs >= stirredForMs;
}
