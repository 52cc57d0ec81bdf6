import { counterSigns } from "./signs/counter.ts";
import { crankSigns } from "./signs/crank.ts";
import { linkSigns } from "./signs/link.ts";
import { misfireSigns } from "./signs/misfire.ts";
import { mixtureSigns } from "./signs/mixture.ts";
import { powerSigns } from "./signs/power.ts";
import { sensorSigns } from "./signs/sensor.ts";
import type { SignRow } from "./signs/row.ts";

/** Every sign the interpreter knows, one row each. Wording is ours; method: common practice where a range has no source. */
export const signRows = {
  ...powerSigns,
  ...crankSigns,
  ...sensorSigns,
  ...mixtureSigns,
  ...misfireSigns,
  ...counterSigns,
  ...linkSigns,
} as const;

export type SignId = keyof typeof signRows;

/** The row of a sign; undefined for an id that no version of this table has. */
export function signRow(id: SignId): SignRow;
export function signRow(id: string): SignRow | undefined;
export function signRow(id: string): SignRow | undefined {
  return Object.hasOwn(signRows, id) ? signRows[id as SignId] : undefined;
}
