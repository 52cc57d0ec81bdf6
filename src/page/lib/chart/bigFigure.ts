/** A number that is read from afar: the last one, and how old it is; nothing that is not the engine's any more. */
import { socketVoltage } from "../../../../shared/decode.ts";
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

interface At {
  readonly time: number;
  readonly units: UnitSystem;
}

/** Volts at the socket, or as a module has them where the adapter does not measure any. */
export function bigVolts(reading: Read, at: At): BigFigure {
  const measured = reading.channels.find(socketVoltage) !== undefined;
  return bigFigure(reading, measured ? socketVoltage : "module-voltage", at);
}

export function bigFigure(reading: Read, channel: string, { time, units }: At): BigFigure {
  const series = reading.channels.find(channel);
  const readout = series === undefined ? null : heardAt(reading, series, time);
  if (readout === null) return { text: "–", about: "not read" };
  if (readout.ageMs > freshMs) return { text: "–", about: `nothing new, last ${ageText(readout.ageMs)}` };
  if (Number.isNaN(readout.value)) return { text: "–", about: "no answer" };
  const { value, digits } = shown(readout.value, reading.info(channel).unit, units);
  return { text: value.toFixed(Math.min(digits, 1)), about: ageText(readout.ageMs) };
}
