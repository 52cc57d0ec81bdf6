import { units } from "../../../shared/units.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { Figure, HandCheckRow, OutcomeRow, ReadingRow } from "./types.ts";

/** As entered: one value, or one a cylinder; null where none was taken. */
export interface Reading {
  readonly values: readonly (number | null)[];
  readonly unit: string;
  /** The other figure, in the same unit, where the check judges a difference; left out: the values are differences. */
  readonly beside?: number | undefined;
}

export interface Judged {
  readonly outcome: string | null;
  readonly figure?: { readonly value: number; readonly unit: string };
  /** How the figure came of what was entered: "12.4 V at the battery - 12.2 V at the relay = 0.2 V lost". */
  readonly sum?: string;
  readonly question?: string;
  readonly impossible: boolean;
}

/** What one of a unit is in the base unit of its kind. Factors: NIST SP 811 (2008), appendix B.8. */
const kinds: readonly Readonly<Record<string, readonly [factor: number, offset: number]>>[] = [
  {
    kPa: [1, 0],
    "kPa fuel": [1, 0],
    psi: [6.894757, 0],
    bar: [100, 0],
    inHg: [3.386389, 0],
    "kg/cm²": [98.0665, 0],
    MPa: [1000, 0],
  },
  { V: [1, 0], mV: [0.001, 0] },
  { A: [1, 0], mA: [0.001, 0] },
  { ohm: [1, 0], Ω: [1, 0], kohm: [1000, 0], kΩ: [1000, 0] },
  { l: [1, 0], ml: [0.001, 0] },
  // A leak-down gauge shows what is lost, or what is held.
  { "%": [1, 0], "% lost": [1, 0], "% held": [-1, 100] },
  { "°C": [1, 0], "°F": [5 / 9, -160 / 9] },
];

/** A value in another unit of its kind, or null when the two do not belong together. */
export function converted(value: number, from: string, to: string): number | null {
  for (const kind of kinds) {
    const a = kind[from];
    const b = kind[to];
    if (a !== undefined && b !== undefined) return (value * a[0] + a[1] - b[1]) / b[0];
  }
  return null;
}

/** A difference of two values in another unit of its kind: scales have no common zero. */
function convertedDifference(value: number, from: string, to: string): number | null {
  const zero = converted(0, from, to);
  const there = converted(value, from, to);
  return zero === null || there === null ? null : there - zero;
}

/** Units a reading of this check may be entered in, its own first. */
export function enterable(unit: string): string[] {
  const kind = kinds.find((k) => k[unit] !== undefined);
  const hidden = ["kPa fuel", unit === "% lost" ? "%" : ""];
  const others = kind === undefined ? [] : Object.keys(kind).filter((u) => u !== unit && !hidden.includes(u));
  return [unit === "kPa fuel" ? "kPa" : unit, ...others.filter((u) => !(unit === "kPa fuel" && u === "kPa"))];
}

const shownUnit = (unit: string): string => (unit === "kPa fuel" ? units["kPa fuel"].symbol : unit);

/** Good enough on every cylinder, kPa: service manual 2006 (100 psi); diesel from memory. */
const leastCompression = { petrol: 690, diesel: 1700 } as const;
/** More than any sound engine of the kind makes while it is cranked, kPa: from memory. */
const mostCompression = { petrol: 2500, diesel: 4500 } as const;
/** Units that nobody takes a number for by mistake. */
const seldom: ReadonlySet<string> = new Set(["mV", "mA", "kohm", "kΩ", "MPa", "inHg"]);

/**
 * Which outcome a reading is. What cannot physically be is questioned, with the unit that would make it possible; so is
 * what another unit, or another thing than the one asked for, would explain better than a fault. The vehicle's own
 * range, where the facts give one, stands in place of the general one.
 */
export function judgeReading(check: HandCheckRow, reading: Reading, facts: VehicleFacts): Judged {
  const judged = plainly(check, reading, facts);
  const asked = judged.figure === undefined ? null : misread(check, reading, { judged, facts });
  return asked === null ? judged : { ...judged, outcome: null, question: asked };
}

/** Two batteries in a row: the sum is shown, and what is judged is one of them. */
function ofOneBattery(raw: number, unit: string, row: ReadingRow): ReturnType<typeof figureFrom> {
  const whole = converted(raw, unit, row.unit);
  const found = figureFrom(raw / 2, { values: [], unit }, row);
  if (typeof found === "string" || whole === null) {
    const [low, high] = row.possible;
    return `${raw} ${unit} is not possible: ${row.what} can be ${2 * low} to ${2 * high} ${row.unit} at 24 V.`;
  }
  const half = Number(found.value.toFixed(4));
  return { ...found, sum: `${Number(whole.toPrecision(6))} V ÷ 2 batteries = ${half} V each` };
}

/** More than any 12 V system shows, and usual at 24 V: which of the two it is, the facts have to say. */
function asksSupply(raw: number, unit: string, row: ReadingRow): string | null {
  const whole = converted(raw, unit, row.unit);
  const [, high] = row.possible;
  if (row.perBattery !== true || whole === null || !(whole > high && whole <= 2 * high)) return null;
  return `${raw} ${unit} is more than a 12 V system shows. Is it one of 24 V? Enter that in the vehicle's facts.`;
}

function plainly(check: HandCheckRow, reading: Reading, facts: VehicleFacts): Judged {
  const row = check.reading;
  if (row === undefined) {
    return { outcome: null, impossible: false, question: `${check.name} takes no reading.` };
  }
  const values: number[] = [];
  const sums: string[] = [];
  for (const raw of reading.values) {
    if (raw === null) continue;
    const halved = row.perBattery === true && facts.supplyVolts === 24;
    const asked = facts.supplyVolts === undefined ? asksSupply(raw, reading.unit, row) : null;
    if (asked !== null) return { outcome: null, impossible: true, question: asked };
    const found = halved ? ofOneBattery(raw, reading.unit, row) : figureFrom(raw, reading, row);
    if (typeof found === "string") return { outcome: null, impossible: true, question: found };
    values.push(found.value);
    if (found.sum !== null) sums.push(found.sum);
  }
  if (values.length === 0) return { outcome: null, impossible: false, question: "No value was entered." };
  if (row.figure === "lowest-of-highest") return compression(values, reading.values, facts);
  const value = figureOf(row.figure, values);
  if (value === null) {
    return {
      outcome: null,
      impossible: false,
      question: "One value alone cannot be compared with the others.",
    };
  }
  const base = {
    figure: { value, unit: shownUnit(row.unit) },
    ...(sums.length === 0 ? {} : { sum: sums.join("; ") }),
    impossible: false,
  };
  if (row.doubtful !== undefined && sums.length === 0 && value >= row.doubtful.from) {
    return { ...base, outcome: null, question: row.doubtful.words };
  }
  const outcome = check.outcomes.find((o) => holds(boundsOf(o, check, facts), value));
  if (outcome !== undefined) return { ...base, outcome: outcome.id };
  return { ...base, outcome: null, question: "The number alone does not say: choose the outcome." };
}

/** What is judged of one entered value, with the sum where there is one; words when it cannot be. */
function figureFrom(
  raw: number,
  { unit, beside }: Reading,
  row: ReadingRow,
): { readonly value: number; readonly sum: string | null } | string {
  const pair = row.beside;
  const given = pair !== undefined && beside !== undefined;
  const value =
    pair !== undefined && !given ? convertedDifference(raw, unit, row.unit) : converted(raw, unit, row.unit);
  if (value === null) return `A reading in ${unit} where ${shownUnit(row.unit)} is meant.`;
  if (!given) return doubtOf(raw, value, row, unit) ?? { value, sum: null };
  const other = converted(beside, unit, row.unit);
  const shown = { ...row, possible: pair.possible, what: pair.shown };
  const doubt =
    doubtOf(raw, value, shown, unit) ??
    doubtOf(beside, other ?? Number.NaN, { ...shown, what: pair.what }, unit);
  if (doubt !== null || other === null) return doubt ?? "";
  const [at, against, left] = pair.words;
  const taken = pair.take === "shown" ? other - value : value - other;
  const told = (n: number, words: string): string =>
    `${Number(n.toPrecision(6))} ${shownUnit(row.unit)} ${words}`;
  const terms = [told(other, against), told(value, at)];
  if (pair.take === "beside") terms.reverse();
  return { value: taken, sum: `${terms.join(" − ")} = ${told(Number(taken.toFixed(4)), left)}` };
}

/** A fault that is none when the number stands in another unit is asked about before it is believed. */
function misread(
  check: HandCheckRow,
  reading: Reading,
  { judged, facts }: { readonly judged: Judged; readonly facts: VehicleFacts },
): string | null {
  const row = check.reading;
  const usual = (id: string | null): boolean => check.outcomes.some((o) => o.id === id && o.normal === true);
  if (row === undefined || usual(judged.outcome) || row.beside !== undefined) return null;
  if (!reading.values.some((v) => v !== null && v !== 0)) return null;
  const unit = enterable(row.unit).find(
    (u) =>
      u !== reading.unit &&
      !seldom.has(u) &&
      !(u === "kPa" && reading.unit === "kPa fuel") &&
      likely(row, u, { reading, facts }) &&
      usual(plainly(check, { ...reading, unit: u }, facts).outcome),
  );
  if (unit === undefined) return null;
  const text = (id: string | null): string => check.outcomes.find((o) => o.id === id)?.text ?? "";
  const right = plainly(check, { ...reading, unit }, facts).outcome;
  const numbers = reading.values.map((v) => v ?? "–").join(", ");
  const now = judged.outcome === null ? "says nothing by itself" : `would be: ${text(judged.outcome)}`;
  return `${numbers} ${shownUnit(reading.unit)} ${now}. In ${unit} it would be: ${text(right)}. Choose the unit or the outcome.`;
}

/** Whether the numbers could well stand in that unit. */
function likely(
  row: ReadingRow,
  unit: string,
  { reading, facts }: { readonly reading: Reading; readonly facts: VehicleFacts },
): boolean {
  if (row.figure !== "lowest-of-highest") return true;
  const most = mostCompression[facts.fuel === "diesel" ? "diesel" : "petrol"];
  return reading.values.every((v) => v === null || (converted(v, unit, row.unit) ?? Number.NaN) <= most);
}

function doubtOf(raw: number, value: number, row: ReadingRow, unit: string): string | null {
  const [low, high] = row.possible;
  if (Number.isFinite(value) && value >= low && value <= high) return null;
  const span = `${low} to ${high} ${shownUnit(row.unit)}`;
  const meant = enterable(row.unit).find((u) => {
    const other = converted(raw, u, row.unit);
    return u !== unit && other !== null && other >= low && other <= high && other !== 0;
  });
  const hint = meant === undefined ? "" : ` Was it ${raw} ${meant}?`;
  return `${raw} ${shownUnit(unit)} is not possible: ${row.what} can be ${span}.${hint}`;
}

function figureOf(figure: Figure, values: readonly number[]): number | null {
  const sum = values.reduce((a, b) => a + b, 0);
  switch (figure) {
    case "value":
      return sum / values.length;
    case "highest":
      return Math.max(...values);
    case "lowest":
      return Math.min(...values);
    case "furthest-from-mean": {
      if (values.length === 1) return null;
      const mean = sum / values.length;
      return Math.max(...values.map((v) => Math.abs(v - mean)));
    }
    case "lowest-of-highest":
      return (100 * Math.min(...values)) / Math.max(...values);
  }
}

interface Bounds {
  readonly from: number;
  readonly to: number;
  readonly ranged: boolean;
}

const holds = (b: Bounds, value: number): boolean => b.ranged && value >= b.from && value < b.to;

/** Bounds of an outcome, those of the vehicle's manual in place of the general ones where the facts have them. */
export function boundsOf(outcome: OutcomeRow, check: HandCheckRow, facts: VehicleFacts): Bounds {
  const replaced = check.reading?.replaced;
  const own = replaced === undefined ? undefined : facts[replaced.by];
  let from = outcome.from;
  let to = outcome.to;
  if (own !== undefined && replaced !== undefined) {
    const right = check.outcomes.find((o) => o.id === replaced.outcome);
    const swap = (edge: number | undefined): number | undefined => {
      if (edge !== undefined && edge === right?.from) return own.low;
      // A reading equal to the manual's upper end is still right.
      if (edge !== undefined && edge === right?.to) return own.high + 0.5;
      return edge;
    };
    from = swap(from);
    to = swap(to);
  }
  return {
    from: from ?? Number.NEGATIVE_INFINITY,
    to: to ?? Number.POSITIVE_INFINITY,
    ranged: from !== undefined || to !== undefined,
  };
}

/**
 * Lowest at least 75 % of highest (service manuals 1997, 2012) and each good enough (2006): even. Two low neighbours
 * speak for a gasket. Cylinder numbers next to each other are taken for neighbours.
 */
function compression(
  values: readonly number[],
  byCylinder: readonly (number | null)[],
  facts: VehicleFacts,
): Judged {
  const highest = Math.max(...values);
  const lowest = Math.min(...values);
  const figure = { value: highest === 0 ? 0 : (100 * lowest) / highest, unit: "%" };
  const least = leastCompression[facts.fuel === "diesel" ? "diesel" : "petrol"];
  if (highest < least) return { outcome: "all", figure, impossible: false };
  if (values.length === 1) {
    return { outcome: null, figure, impossible: false, question: "One cylinder alone cannot be compared." };
  }
  if (figure.value >= 75 && lowest >= least) return { outcome: "even", figure, impossible: false };
  const top = Math.max(...byCylinder.map((v) => v ?? 0));
  const low = byCylinder.flatMap((v, i) => (v !== null && v < 0.75 * top ? [i] : []));
  if (low.length === 2 && (low[1] ?? 0) - (low[0] ?? 0) === 1)
    return { outcome: "two", figure, impossible: false };
  if (low.length > 0 && low.length === byCylinder.length)
    return { outcome: "all", figure, impossible: false };
  if (low.length === 1) return { outcome: "one", figure, impossible: false };
  return {
    outcome: low.length === 0 ? "all" : null,
    figure,
    impossible: false,
    ...(low.length === 0 ? {} : { question: "Several are low: choose the outcome that fits." }),
  };
}
