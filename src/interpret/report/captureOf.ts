/** Captures that a person can make with the engine, and which of them a sign is judged by. Pure. */
import { signRow } from "../tables/signs.ts";

export const captures = [
  "key-on",
  "crank",
  "start",
  "idle-cold",
  "warm",
  "idle-warm",
  "held",
  "snap",
  "pull",
  "strength",
  "codes",
] as const;
export type CaptureId = (typeof captures)[number];

/** Where the ways of running that a sign's row names do not say it all. */
const own: Readonly<Record<string, readonly CaptureId[]>> = {
  "crank.cylinder-weak": ["strength"],
  "crank.all-weak": ["strength"],
  "crank.dies": ["start"],
  "crank.time-to-fire": ["start"],
  "mixture.delivery": ["pull"],
  "mixture.unmetered-air": ["idle-warm", "held"],
  "mixture.metering": ["idle-warm", "held"],
  "sensor.coolant-warm": ["warm"],
  "sensor.coolant-still": ["warm"],
};

const byRegime: readonly (readonly [regime: string, capture: CaptureId])[] = [
  ["key-on", "key-on"],
  ["cranking", "crank"],
  ["no-speed", "crank"],
  ["idle-warm", "idle-warm"],
  ["held", "held"],
  ["load", "pull"],
  ["idle-cold", "idle-cold"],
  ["survey", "codes"],
];

/** Those that would judge it, the readiest first; none where no capture does (a mark, a test of the modules' own). */
export function capturesOf(sign: string): readonly CaptureId[] {
  const told = own[sign];
  if (told !== undefined) return told;
  const judged: readonly string[] = signRow(sign)?.judged ?? [];
  return [...new Set(byRegime.flatMap(([regime, capture]) => (judged.includes(regime) ? [capture] : [])))];
}
