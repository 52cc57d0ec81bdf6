/** The vehicle facts a person may give, as a form shows them. */
import { ordersFor, usualOrders } from "../../../../shared/firing.ts";
import { small } from "../../../../shared/letters.ts";
import type { ProfileEntry } from "../../../interpret/report/schema.ts";
import { shown, taken, type UnitSystem } from "../../../../shared/units.ts";
import type { FactName, FactOwner } from "../../../sheet/effectiveFacts.ts";
import { vehicleFactsSchema, type VehicleFacts } from "../../../../shared/vehicle.ts";

/** Facts that are one number, word or text. */
export type SimpleFact = Exclude<keyof VehicleFacts, "ranges" | "fuelPressureKPa">;

interface FieldBase {
  readonly key: SimpleFact;
  readonly label: string;
  readonly unit?: string;
}

export type FactField =
  | (FieldBase & { readonly kind: "text"; readonly expected: string; readonly most: number })
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
    key: "layout",
    label: "Layout",
    kind: "choice",
    choices: { "in-line": "in line", v: "V", boxer: "boxer" },
  },
  {
    ...{ key: "firingOrder", label: "Firing order", kind: "text", most: 60 },
    expected: "each cylinder once, such as 1-3-4-2",
  },
  {
    ...{ key: "bank1", label: "Cylinders of bank 1", kind: "text", most: 60 },
    expected: "their numbers, such as 1-3-5",
  },
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
  {
    key: "throttled",
    label: "Throttle plate controls the air",
    kind: "choice",
    choices: { yes: "yes", no: "no" },
  },
  {
    key: "stopsAtStandstill",
    label: "Stop-start",
    kind: "choice",
    choices: { yes: "yes", no: "no" },
  },
  { key: "supplyVolts", label: "Supply", kind: "choice", choices: { "12": "12 V", "24": "24 V" } },
  { key: "hybrid", label: "Hybrid", kind: "choice", choices: { yes: "yes", no: "no" } },
  { key: "idleRpm", label: "Warm idle", unit: "rpm", kind: "number", expected: "300 to 2000" },
  { key: "altitudeM", label: "Altitude here", kind: "measure", of: "m", low: -500, high: 6000 },
  { key: "year", label: "Year", kind: "number", expected: "1980 to 2100" },
  { key: "batteryYear", label: "Battery fitted", kind: "number", expected: "a year, 1980 to 2100" },
  { key: "odometerKm", label: "Odometer", kind: "measure", of: "km", low: 0, high: 5_000_000 },
  { key: "vin", label: "VIN", kind: "text", expected: "up to 17 characters", most: 17 },
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

/** Usual entries to choose from, with their words; none for most fields. */
export function factUsual(
  key: SimpleFact,
  vehicle: VehicleFacts,
): readonly { value: string; words: string }[] {
  if (key !== "firingOrder") return [];
  return ordersFor(vehicle).map(({ order, layout }) => ({
    value: order,
    words: `${layout === "v" ? "V" : layout} (${usualOrders.source}; the manual decides)`,
  }));
}

/** Facts that are yes or no, and a choice among numbers. */
const yesOrNo: ReadonlySet<SimpleFact> = new Set(["throttled", "stopsAtStandstill", "hybrid"]);

function valueOf(key: SimpleFact, text: string, system: UnitSystem): string | number | boolean {
  const field = factFields.find((f) => f.key === key);
  if (yesOrNo.has(key) && (text === "yes" || text === "no")) return text === "yes";
  if (key === "supplyVolts") return Number(text);
  const number = Number(text.replace(",", "."));
  // Finer than anyone reads it, so that what was typed in feet comes back as it was typed.
  if (field?.kind === "measure") return Number(taken(number, field.of, system).toFixed(6));
  return field?.kind === "number" ? number : text;
}

/** The value as it stands in its field. */
export function factText(
  field: FactField,
  value: string | number | boolean | undefined,
  system: UnitSystem,
): string {
  if (value === undefined) return "";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (field.kind !== "measure" || typeof value !== "number") return String(value);
  return String(Number(shown(value, field.of, system).value.toFixed(3)));
}

export function factUnit(field: FactField, system: UnitSystem): string | undefined {
  return field.kind === "measure" ? shown(0, field.of, system).symbol : field.unit;
}

/** What the field takes, for a person whose entry it did not take. */
export function factExpected(field: FactField, system: UnitSystem): string {
  if (field.kind === "number" || field.kind === "text") return field.expected;
  if (field.kind !== "measure") return "one of the list";
  const text = (value: number): string => shown(value, field.of, system).value.toFixed(0);
  return `${text(field.low)} to ${text(field.high)}`;
}

/** Whose word each fact is: "Of the job: complaint, cylinders. Of the recording: fuel."; nothing where none has one. */
export function ownersLine(ownerOf: (name: FactName) => FactOwner | undefined): string {
  const named: readonly (readonly [FactName, string])[] = [
    ["name", "vehicle"],
    ["complaint", "complaint"],
    ...factFields.map(({ key, label }) => [key, key === "vin" ? label : small(label)] as const),
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

const lineChoices: ReadonlySet<SimpleFact> = new Set(["fuel", "induction"]);

/** The fact that corrects a line of the vehicle profile. */
const factOf = {
  fuel: "fuel",
  induction: "induction",
  metering: "metering",
  throttled: "throttled",
  stops: "stopsAtStandstill",
  supply: "supplyVolts",
  hybrid: "hybrid",
} as const satisfies Record<Exclude<ProfileEntry["of"], "vin">, SimpleFact>;

const fromWords = { module: "by its module", seen: "by the readings" } as const;

/**
 * What is known of a field that nobody said anything of: "by the readings diesel, likely: the manifold stays…"; null
 * where nothing is, or where a person said it. Where that is spoken against, it is told.
 */
export function factHint(key: SimpleFact, profile: readonly ProfileEntry[]): string | null {
  const entry = profile.find((p) => p.of !== "vin" && factOf[p.of] === key);
  if (entry === undefined || entry.from === "unknown") return null;
  if (entry.from === "told") return entry.against === undefined ? null : `but ${entry.against}`;
  const likely = entry.sure === "likely" ? ", likely" : "";
  return `${fromWords[entry.from]} ${entry.value ?? ""}${likely}: ${entry.why}`;
}

/** What nobody said and is known all the same, in one line; empty where there is nothing. */
export function kindLine(profile: readonly ProfileEntry[]): string {
  const known = profile.filter((p) => p.value !== null && (p.from === "module" || p.from === "seen"));
  if (known.length === 0) return "";
  const parts = known.map(({ name, value, from, sure }) => {
    const by = from === "seen" ? "readings" : "module";
    return `${name.toLowerCase()} ${value ?? ""} (${sure === "likely" ? "likely, " : ""}${by})`;
  });
  return `Known without being entered: ${parts.join(", ")}. Enter it below to correct it.`;
}

/** The facts in one line: "6 cylinders, 3 L, petrol". */
export function factsLine(vehicle: VehicleFacts): string {
  const parts = factFields.flatMap((field): string[] => {
    const value = vehicle[field.key];
    if (value === undefined) return [];
    if (field.key === "cylinders") return [`${value} cyl.`];
    if (field.kind === "choice" && lineChoices.has(field.key))
      return [field.choices[String(value)] ?? String(value)];
    if (field.key === "displacementL") return [`${value} L`];
    if (field.key === "year") return [String(value)];
    return [];
  });
  return parts.join(", ");
}
