/**
 * Units as logs write them, and what turns a number in one into the channel's own unit. Factors: NIST SP 811 (2008),
 * appendix B.8; bar, hPa and mbar by definition.
 */
import { units, type Unit, type UnitId } from "./units.ts";

/** value = (number - offset) / factor, with the value in the channel's unit. */
export interface Conversion {
  readonly factor: number;
  readonly offset: number;
}

type Family = Readonly<Record<string, Conversion>>;
const times = (factor: number): Conversion => ({ factor, offset: 0 });

/** Each relative to the first, which is a unit of the table. */
const families: readonly Family[] = [
  {
    kPa: times(1),
    ...{ hPa: times(10), mbar: times(10), bar: times(0.01), MPa: times(0.001), Pa: times(1000) },
    ...{ psi: times(1 / 6.894757), inHg: times(1 / 3.386389), mmHg: times(1 / 0.1333224) },
    inH2O: times(1 / 0.2490889),
  },
  { "°C": times(1), "°F": { factor: 1.8, offset: 32 }, K: { factor: 1, offset: 273.15 } },
  {
    "g/s": times(1),
    ...{ "kg/h": times(3.6), "lb/min": times(60 / 453.59237), "lb/h": times(3.6 / 0.45359237) },
    ...{ "g/min": times(60), "kg/min": times(0.06) },
  },
  { "km/h": times(1), mph: times(1 / 1.609344), "m/s": times(1 / 3.6) },
  { km: times(1), mi: times(1 / 1.609344), m: times(1000), ft: times(1000 / 0.3048) },
  { s: times(1), ms: times(1000), min: times(1 / 60), h: times(1 / 3600) },
  { V: times(1), mV: times(1000) },
  { mA: times(1), A: times(0.001), µA: times(1000) },
  { "L/h": times(1), "gal/h": times(1 / 3.785411784) },
  { "N·m": times(1), "lbf·ft": times(1 / 1.355818) },
  { rpm: times(1) },
  { "%": times(1) },
  { "°": times(1) },
  { λ: times(1) },
  { ppm: times(1) },
];

/** Other ways to write them; compared in small letters without blanks, dots and underscores. */
const spellings: Readonly<Record<string, readonly string[]>> = {
  ...{ "°C": ["c", "degc", "celsius", "degreesc", "degreescelsius", "ºc", "℃", "grdc"] },
  ...{ "°F": ["f", "degf", "fahrenheit", "degreesf", "ºf", "℉"], K: ["kelvin"] },
  ...{ kPa: ["kpa(a)", "kpaabs", "kilopascal"], hPa: ["hectopascal"], mbar: ["millibar"], bar: ["bars"] },
  ...{
    psi: ["psia", "psig", "lb/in2", "lbf/in2", "lb/in²"],
    inHg: ["inhg", "inchhg", 'in"hg', '"hg', "inchesofmercury"],
  },
  ...{ inH2O: ["inh2o", "inwc"], mmHg: ["torr"] },
  ...{ "g/s": ["gps", "g/sec", "gm/s", "gram/s", "grams/s", "grams/sec", "gm/sec"] },
  ...{
    "kg/h": ["kg/hr", "kgh", "kgph"],
    "lb/min": ["lbs/min", "lbm/min", "ppm-lb"],
    "lb/h": ["lb/hr", "lbs/hr", "lbs/h"],
  },
  ...{
    "km/h": ["kmh", "kph", "kmph", "km/hr"],
    mph: ["mi/h", "miles/h", "mile/h", "milesperhour"],
    "m/s": ["m/sec"],
  },
  ...{ km: ["kilometers", "kilometres"], mi: ["mile", "miles"], m: ["meter", "metre"], ft: ["feet", "foot"] },
  ...{ s: ["sec", "secs", "second", "seconds"], ms: ["msec", "msecs", "millisecond", "milliseconds"] },
  ...{ min: ["mins", "minute", "minutes"], h: ["hr", "hrs", "hour", "hours"] },
  ...{
    V: ["volt", "volts", "vdc"],
    mV: ["millivolt", "millivolts"],
    mA: ["milliamp"],
    A: ["amp", "amps"],
    µA: ["ua", "μa"],
  },
  ...{ "L/h": ["lph", "l/hr", "liter/h", "liters/h"], "gal/h": ["gph", "gal/hr"] },
  ...{
    "N·m": ["nm", "n*m", "n-m"],
    "lbf·ft": ["lb-ft", "lbft", "ft-lb", "ftlb", "ft·lb", "lb·ft", "lbf-ft"],
  },
  ...{
    rpm: ["1/min", "min-1", "r/min", "rev/min", "u/min", "min⁻¹", "revs/min"],
    "%": ["percent", "pct", "prozent"],
  },
  ...{ "°": ["deg", "degree", "degrees", "°btdc", "degbtdc", "°ca", "°crk", "degcrk", "degreesbtdc", "º"] },
  ...{ λ: ["lambda", "lam"] },
};

const plain = (text: string): string =>
  text
    .trim()
    .toLowerCase()
    .replace(/[\s._]/g, "");

const bySpelling: ReadonlyMap<string, string> = new Map([
  ...families.flatMap((family) => Object.keys(family).map((symbol) => [plain(symbol), symbol] as const)),
  ...Object.entries(spellings).flatMap(([symbol, all]) => all.map((one) => [plain(one), symbol] as const)),
]);

/** Units whose symbols differ in capitals only: millipascal is none of ours, but megapascal is. */
export function unitSymbol(text: string): string | null {
  return bySpelling.get(plain(text)) ?? null;
}

/** Every unit that a column of this unit may be given in, by symbol; the unit's own name in the table as well. */
export function conversionsTo(unit: UnitId): ReadonlyMap<string, Conversion> {
  const { symbol }: Unit = units[unit];
  const found = new Map<string, Conversion>([[unit, times(1)]]);
  if (symbol !== "") found.set(symbol, times(1));
  const family = families.find((one) => symbol in one);
  const base = family?.[symbol];
  if (family === undefined || base === undefined) return found;
  // Only temperatures have an offset, and theirs is from the first, which is the channel's unit.
  for (const [other, { factor, offset }] of Object.entries(family))
    if (other !== symbol) found.set(other, { factor: factor / base.factor, offset });
  return found;
}

/** The conversion for a unit as a log writes it; null where it is none of this channel's. */
export function conversionOf(text: string, unit: UnitId): (Conversion & { readonly symbol: string }) | null {
  const all = conversionsTo(unit);
  for (const symbol of [text.trim(), unitSymbol(text) ?? ""]) {
    const found = all.get(symbol);
    if (found !== undefined) return { symbol, ...found };
  }
  return null;
}

/** The symbols that a person can choose from for a channel of this unit; one where nothing has to be asked. */
export function unitChoices(unit: UnitId): readonly string[] {
  const { symbol }: Unit = units[unit];
  return [...conversionsTo(unit).keys()].filter((one) => symbol === "" || one !== unit || one === symbol);
}

/** The symbol under metric or US units. */
export function usualSymbol(unit: UnitId, system: "metric" | "us"): string {
  const row: Unit = units[unit];
  return system === "us" && row.us !== undefined ? row.us.symbol : row.symbol === "" ? unit : row.symbol;
}
