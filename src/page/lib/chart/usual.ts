/** Where a reading lies against what is plausible in the regime of its time, in words. Pure. */
import { regimeWords, type Regime } from "../../../../shared/ranges.ts";
import { shown as inUnits, type UnitId, type UnitSystem } from "../../../../shared/units.ts";
import { isWordUnit } from "./index.ts";
import type { Readout } from "./readout.ts";
import { rangeText } from "../app/words.ts";

export interface RangeHere {
  readonly low: number | null;
  readonly high: number | null;
  readonly source: string;
}

export interface Usual {
  /** "within 12 to 12.9", "▲ above 8 to 22", "usual 600 to 1400". */
  readonly text: string;
  readonly outside: boolean;
  /** The range with its regime, unit and source, as a sentence. */
  readonly source: string;
}

export interface UsualInput {
  readonly readout: Readout | null;
  readonly regime: Regime | null;
  readonly range: RangeHere | null;
  readonly unit: UnitId;
  readonly system: UnitSystem;
}

/** Null where nothing is known to be plausible. */
export function usualHere({ readout, regime, range, unit, system }: UsualInput): Usual | null {
  if (isWordUnit(unit) || regime === null || range === null) return null;
  const low = range.low ?? Number.NEGATIVE_INFINITY;
  const high = range.high ?? Number.POSITIVE_INFINITY;
  const value = readout?.value ?? Number.NaN;
  // Shape and word, not tone alone.
  const place = Number.isNaN(value) ? "usual" : value < low ? "▼ below" : value > high ? "▲ above" : "within";
  const text = rangeText({ low, high }, unit, system);
  return {
    text: `${place} ${text}`,
    outside: value < low || value > high,
    source: `Plausible while ${regimeWords[regime]}: ${text} ${inUnits(0, unit, system).symbol}. Source: ${range.source}.`,
  };
}
