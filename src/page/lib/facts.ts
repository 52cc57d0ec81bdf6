/** The vehicle facts a person may give, as a form shows them. */
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
  { key: "altitudeM", label: "Altitude here", unit: "m", kind: "number", expected: "-500 to 6000" },
  { key: "year", label: "Year", kind: "number", expected: "1980 to 2100" },
  { key: "odometerKm", label: "Odometer", unit: "km", kind: "number", expected: "0 to 5000000" },
  { key: "vin", label: "VIN", kind: "text" },
];

/** What was typed as a value of the field: undefined for nothing, null for what it cannot be. */
export function factValue<K extends SimpleFact>(key: K, text: string): VehicleFacts[K] | undefined | null {
  const trimmed = text.trim();
  if (trimmed === "") return undefined;
  const field = factFields.find((f) => f.key === key);
  const value = field?.kind === "number" ? Number(trimmed.replace(",", ".")) : trimmed;
  const result = vehicleFactsSchema.safeParse({ [key]: value });
  return result.success ? result.data[key] : null;
}

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
