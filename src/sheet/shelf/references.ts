/** Sound recordings of the same kind of vehicle, to be laid under one that is looked at. Pure. */
import type { Searchable } from "./search.ts";

/** The recording that is looked at, as far as it is known. */
export interface LookedAt {
  readonly file: string;
  readonly vehicle: {
    readonly name: string;
    readonly vin: string;
    readonly cylinders?: number | undefined;
    readonly displacementL?: number | undefined;
    readonly fuel?: string | undefined;
  };
  /** At the first crank, else at the beginning, °C; null: unknown. */
  readonly coolant: number | null;
  readonly invented: boolean;
}

export type Likeness = "vehicle" | "engine";

export interface Reference {
  readonly file: string;
  readonly same: Likeness;
  readonly coolant: number | null;
  readonly started: string;
}

/** Further apart, a cold start is no measure for another one, °C: crank, time to fire and idle all go by it (common practice). */
export const coolantApart = 10;
/** Displacements are rounded in papers and in speech, L. */
const litresApart = 0.06;
const most = 24;

const small = (text: string): string => text.trim().toLowerCase();

/** What both must say and say alike; null where they are not known to be alike. */
export function likeness(a: LookedAt["vehicle"], b: LookedAt["vehicle"]): Likeness | null {
  const [vinA, vinB] = [small(a.vin), small(b.vin)];
  if (vinA !== "" && vinB !== "") {
    if (vinA === vinB) return "vehicle";
  } else if (small(a.name) !== "" && small(a.name) === small(b.name)) return "vehicle";
  const { cylinders, displacementL, fuel } = a;
  if (cylinders === undefined || displacementL === undefined || fuel === undefined) return null;
  const alike =
    b.cylinders === cylinders &&
    b.fuel === fuel &&
    Math.abs((b.displacementL ?? Number.NaN) - displacementL) <= litresApart;
  return alike ? "engine" : null;
}

/**
 * Recordings without any fault that start about as warm as the one that is looked at, those of the same vehicle first, then
 * the nearest in temperature, then the newest. Where a temperature is unknown it is kept, behind those that are known.
 */
export function referencesFor(all: readonly Searchable[], of: LookedAt): Reference[] {
  const found = all.flatMap(({ name, entry }): (Reference & { apart: number })[] => {
    if (entry.kind !== "recording" || !entry.sound || name === of.file || entry.invented !== of.invented)
      return [];
    const same = likeness(of.vehicle, entry.vehicle);
    if (same === null) return [];
    const { coolant, started } = entry;
    const known = coolant !== null && of.coolant !== null;
    const apart = known ? Math.abs(coolant - of.coolant) : coolantApart;
    if (known && apart > coolantApart) return [];
    return [{ file: name, same, coolant, started, apart }];
  });
  const newest = (r: Reference): number => Date.parse(r.started) || 0;
  return found
    .sort(
      (a, b) =>
        Number(a.same === "engine") - Number(b.same === "engine") ||
        a.apart - b.apart ||
        newest(b) - newest(a) ||
        (a.file < b.file ? -1 : 1),
    )
    .slice(0, most)
    .map(({ file, same, coolant, started }) => ({ file, same, coolant, started }));
}

/** "4 good, same engine, 20 °C"; `degrees` writes a temperature. */
export function groupWords(
  group: readonly Reference[],
  degrees: (celsius: number) => string = (c) => `${c.toFixed(0)} °C`,
): string {
  const known = group.flatMap(({ coolant }) => (coolant === null ? [] : [coolant]));
  const [low, high] = [Math.min(...known), Math.max(...known)];
  const warm =
    known.length === 0
      ? "temperature unknown"
      : degrees(low) === degrees(high)
        ? degrees(low)
        : `${degrees(low)} to ${degrees(high)}`;
  return `${group.length} good, same ${group[0]?.same ?? "engine"}, ${warm}`;
}
