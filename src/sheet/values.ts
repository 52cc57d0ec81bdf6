/** Values and differences with their units, as the sheet and the note write them. */
import { format, isUnitId, type UnitSystem } from "../../shared/units.ts";

/** Seconds with tenths, what has no unit of ours as it is, all else as the tables say. */
export function value(number: number, unit: string, system: UnitSystem): string {
  return unsigned(worded(number, unit, system));
}

/** What is nought to its last digit has no sign. */
const unsigned = (words: string): string => words.replace(/^-(?=0(?:\.0*)?(?:\s|$))/, "");

function worded(number: number, unit: string, system: UnitSystem): string {
  if (unit === "s") return `${number.toFixed(1)} s`;
  if (unit === "rpm/V") return `${number.toFixed(1)} rpm/V`;
  if (unit === "count") return String(number);
  return isUnitId(unit) ? format(number, unit, system) : `${number} ${unit}`.trim();
}

/** A difference has no zero of its own: 10 °C more is 18 °F more. */
export function difference(number: number, unit: string, system: UnitSystem): string {
  if (!isUnitId(unit) || system === "metric") return value(number, unit, system);
  const zero = format(0, unit, system);
  if (!zero.startsWith("32")) return value(number, unit, system);
  return `${(number * 1.8).toFixed(0)} °F`;
}
