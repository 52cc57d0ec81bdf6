/** The vehicle facts a person may give, as a form shows them. */
import { shown, taken, type UnitSystem } from "../../../shared/units.ts";
import type { FactName, FactOwner } from "../../sheet/effectiveFacts.ts";
import { vehicleFactsSchema, type VehicleFacts } from "../../../shared/vehicle.ts";

/** Facts that are one number, word or text. */
export type SimpleFact = Exclude<keyof VehicleFacts, "ranges" | "fuelPressureKPa">;

interface FieldBase {
  readonly key: SimpleFact;
  readonly label: string;
  readonly unit?: string;
}

export type FactField =
  | (FieldBase & { readonly kind: "text" })
  | (FieldBase & { readonly kind: "number"; readonly expected: string })
  | (FieldBase & {
      /** A number in a unit that has a US form; it is kept in the metric one. */
      readonly kind: "measure";
      readonly of: "m" | "km";
      readonly low: number;
      readonly high: number;
    })
  | (FieldBase & { readonly kind: "choice"; readonly choices: Readonly<Record<string, string>> });

export const factFields: readonly FactField[] = [
  { key: "cylinders", label: "Cylinders", kind: "number", expected: "1 to 16" },
  { key: "displacementL", label: "Displacement", unit: "L", kind: "number", expected: "up to 20" },
  {
    key: "fuel",
    label: "Fuel",
    kind: "choice",
    choices: { petrol: "petrol", diesel: "diesel", ethanol: "ethanol", gas: "gas", other: "other" },
  },
  { key: "banks", label: "Banks", kind: "number", expected: "1 to 4" },
  {
    key: "metering",
    label: "Air is measured by",
    kind: "choice",
    choices: { "air-flow": "an air flow meter", "manifold-pressure": "manifold pressure" },
  },
  {
    key: "induction",
    label: "Induction",
    kind: "choice",
    choices: { natural: "natural", charged: "charged" },
  },
  { key: "idleRpm", label: "Warm idle", unit: "rpm", kind: "number", expected: "300 to 2000" },
  { key: "altitudeM", label: "Altitude here", kind: "measure", of: "m", low: -500, high: 6000 },
  { key: "year", label: "Year", kind: "number", expected: "1980 to 2100" },
  { key: "odometerKm", label: "Odometer", kind: "measure", of: "km", low: 0, high: 5_000_000 },
  { key: "vin", label: "VIN", kind: "text" },
];

/** What was typed as a value of the field: undefined for nothing, null for what it cannot be. */
export function factValue<K extends SimpleFact>(
  key: K,
  text: string,
  system: UnitSystem = "metric",
): VehicleFacts[K] | undefined | null {
  const trimmed = text.trim();
  if (trimmed === "") return undefined;
  const result = vehicleFactsSchema.safeParse({ [key]: valueOf(key, trimmed, system) });
  return result.success ? result.data[key] : null;
}

function valueOf(key: SimpleFact, text: string, system: UnitSystem): string | number {
  const field = factFields.find((f) => f.key === key);
  const number = Number(text.replace(",", "."));
  // Finer than anyone reads it, so that what was typed in feet comes back as it was typed.
  if (field?.kind === "measure") return Number(taken(number, field.of, system).toFixed(6));
  return field?.kind === "number" ? number : text;
}

/** The value as it stands in its field. */
export function factText(field: FactField, value: string | number | undefined, system: UnitSystem): string {
  if (value === undefined) return "";
  if (field.kind !== "measure" || typeof value !== "number") return String(value);
  return String(Number(shown(value, field.of, system).value.toFixed(3)));
}

export function factUnit(field: FactField, system: UnitSystem): string | undefined {
  return field.kind === "measure" ? shown(0, field.of, system).symbol : field.unit;
}

/** What the field takes, for a person whose entry it did not take. */
export function factExpected(field: FactField, system: UnitSystem): string {
  if (field.kind === "number") return field.expected;
  if (field.kind !== "measure") return "up to 17 characters";
  const text = (value: number): string => shown(value, field.of, system).value.toFixed(0);
  return `${text(field.low)} to ${text(field.high)}`;
}

/** Whose word each fact is: "Of the job: complaint, cylinders. Of the recording: fuel."; nothing where none has one. */
export function ownersLine(ownerOf: (name: FactName) => FactOwner | undefined): string {
  const named: readonly (readonly [FactName, string])[] = [
    ["name", "vehicle"],
    ["complaint", "complaint"],
    ...factFields.map(({ key, label }) => [key, key === "vin" ? label : lower(label)] as const),
    ["fuelPressureKPa", "fuel pressure"],
    ["ranges", "ranges of its own"],
  ];
  const of = (owner: FactOwner): string =>
    named.flatMap(([name, words]) => (ownerOf(name) === owner ? [words] : [])).join(", ");
  return [
    ["Of the job", of("job")],
    ["Of the recording", of("recording")],
  ]
    .flatMap(([lead, names]) => (names === "" ? [] : [`${lead}: ${names}.`]))
    .join(" ");
}

const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

/** The facts in one line: "6 cylinders, 3 L, petrol". */
export function factsLine(vehicle: VehicleFacts): string {
  const parts = factFields.flatMap((field): string[] => {
    const value = vehicle[field.key];
    if (value === undefined) return [];
    if (field.key === "cylinders") return [`${value} cyl.`];
    if (field.kind === "choice" && field.key !== "metering")
      return [field.choices[String(value)] ?? String(value)];
    if (field.key === "displacementL") return [`${value} L`];
    if (field.key === "year") return [String(value)];
    return [];
  });
  return parts.join(", ");
}
