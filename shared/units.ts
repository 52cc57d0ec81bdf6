/**
 * The closed list of units. Values are always kept in the metric unit of the parameter table; the
 * US unit is for display only. Factors: NIST SP 811 (2008), appendix B.8.
 */
export interface Unit {
  /** As shown beside a number. */
  readonly symbol: string;
  /** Digits after the point that a reader can use. */
  readonly digits: number;
  /** Shown instead under US units: shown = value * factor + offset. */
  readonly us?: {
    readonly symbol: string;
    readonly factor: number;
    readonly offset: number;
    readonly digits: number;
  };
}

export const units = {
  rpm: { symbol: "rpm", digits: 0 },
  "%": { symbol: "%", digits: 1 },
  V: { symbol: "V", digits: 2 },
  A: { symbol: "A", digits: 1 },
  mA: { symbol: "mA", digits: 2 },
  "°C": { symbol: "°C", digits: 0, us: { symbol: "°F", factor: 1.8, offset: 32, digits: 0 } },
  kPa: { symbol: "kPa", digits: 0, us: { symbol: "inHg", factor: 1 / 3.386389, offset: 0, digits: 1 } },
  "kPa fuel": { symbol: "kPa", digits: 0, us: { symbol: "psi", factor: 1 / 6.894757, offset: 0, digits: 1 } },
  Pa: { symbol: "Pa", digits: 1, us: { symbol: "inH2O", factor: 1 / 249.0889, offset: 0, digits: 2 } },
  "g/s": { symbol: "g/s", digits: 2, us: { symbol: "lb/min", factor: 60 / 453.59237, offset: 0, digits: 3 } },
  "km/h": { symbol: "km/h", digits: 0, us: { symbol: "mph", factor: 1 / 1.609344, offset: 0, digits: 0 } },
  km: { symbol: "km", digits: 0, us: { symbol: "mi", factor: 1 / 1.609344, offset: 0, digits: 0 } },
  m: { symbol: "m", digits: 0, us: { symbol: "ft", factor: 1 / 0.3048, offset: 0, digits: 0 } },
  "°": { symbol: "°", digits: 1 },
  s: { symbol: "s", digits: 0 },
  min: { symbol: "min", digits: 0 },
  "L/h": { symbol: "L/h", digits: 2, us: { symbol: "gal/h", factor: 1 / 3.785411784, offset: 0, digits: 2 } },
  "kg/h": { symbol: "kg/h", digits: 1, us: { symbol: "lb/h", factor: 1 / 0.45359237, offset: 0, digits: 1 } },
  "N·m": { symbol: "N·m", digits: 0, us: { symbol: "lbf·ft", factor: 1 / 1.355818, offset: 0, digits: 0 } },
  "mg/stroke": { symbol: "mg/stroke", digits: 1 },
  ppm: { symbol: "ppm", digits: 0 },
  lambda: { symbol: "λ", digits: 3 },
  ratio: { symbol: "", digits: 3 },
  count: { symbol: "", digits: 0 },
  /** Steps of a counter a second. */
  "1/s": { symbol: "/s", digits: 1 },
  /** A word from an enumeration; the number is its code. */
  state: { symbol: "", digits: 0 },
  /** A bit field; the number is the raw bits. */
  bits: { symbol: "", digits: 0 },
  /** A trouble code; the number is its two bytes. */
  code: { symbol: "", digits: 0 },
} as const satisfies Record<string, Unit>;

export type UnitId = keyof typeof units;
export type UnitSystem = "metric" | "us";

export const unitIds = Object.keys(units) as UnitId[];

export function isUnitId(text: string): text is UnitId {
  return Object.hasOwn(units, text);
}

export interface Shown {
  readonly value: number;
  readonly symbol: string;
  readonly digits: number;
}

/** A value in its table unit, turned into what is shown under the chosen system. */
export function shown(value: number, unit: UnitId, system: UnitSystem): Shown {
  const row: Unit = units[unit];
  if (system === "us" && row.us !== undefined) {
    return { value: value * row.us.factor + row.us.offset, symbol: row.us.symbol, digits: row.us.digits };
  }
  return { value, symbol: row.symbol, digits: row.digits };
}

/** A value as a person gave it in the unit that is shown, turned into the table unit. */
export function taken(value: number, unit: UnitId, system: UnitSystem): number {
  const row: Unit = units[unit];
  return system === "us" && row.us !== undefined ? (value - row.us.offset) / row.us.factor : value;
}

/** "812 rpm", "12.43 V"; a missing value is a dash. */
export function format(value: number | null | undefined, unit: UnitId, system: UnitSystem): string {
  if (value === null || value === undefined || Number.isNaN(value)) return "–";
  const s = shown(value, unit, system);
  const text = s.value.toFixed(s.digits).replace(/^-(0(?:\.0+)?)$/, "$1");
  return s.symbol === "" ? text : `${text} ${s.symbol}`;
}
