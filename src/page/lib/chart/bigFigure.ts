/** A number that is read from afar: the last one, and how old it is; nothing that is not the engine's any more. */
import { shown, type UnitSystem } from "../../../../shared/units.ts";
import type { Read } from "../../../reading/index.ts";
import { ageText } from "../app/words.ts";
import { heardAt } from "./readout.ts";

/** An older number is not the engine's any more. */
const freshMs = 3000;

export interface BigFigure {
  readonly text: string;
  readonly about: string;
}

export function bigFigure(
  reading: Read,
  channel: string,
  { time, units }: { readonly time: number; readonly units: UnitSystem },
): BigFigure {
  const series = reading.channels.find(channel);
  const readout = series === undefined ? null : heardAt(reading, series, time);
  if (readout === null) return { text: "–", about: "not read" };
  if (readout.ageMs > freshMs) return { text: "–", about: `nothing new, last ${ageText(readout.ageMs)}` };
  if (Number.isNaN(readout.value)) return { text: "–", about: "no answer" };
  const { value, digits } = shown(readout.value, reading.info(channel).unit, units);
  return { text: value.toFixed(Math.min(digits, 1)), about: ageText(readout.ageMs) };
}
