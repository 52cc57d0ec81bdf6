/**
 * The shape of the fuel correction over air flow q: a/q + b + d g, with g = max(0, q/qmax - k)^2 / (1 - k)^2. Air that
 * nobody meters is a, a metering or pressure error b, and d what delivery lacks at the greatest flow: a pump or filter
 * keeps up until it does not, so its part begins at a share k of that flow. Neither a pump nor a filter can give too
 * much under load, so d is never below zero, and beside it a is not either.
 */
import type { Fit } from "../report/schema.ts";
import { leastSquares, type LeastSquares } from "../maths/stats.ts";

/** What was read in one zone of air flow. */
export interface Zone {
  /** Mean flow, g/s. */
  readonly flow: number;
  /** Mean correction over the visits, percent. */
  readonly correction: number;
  /** Mean factor of a leak's flow against the choked one. */
  readonly choked: number;
  readonly visits: number;
  /** Sum of squared differences of the visits' means from the zone's, percent squared. */
  readonly squares: number;
  readonly readings: number;
}

export const fitLimits = {
  leastZones: 3,
  leastReadings: 12,
  /** Greatest flow over smallest, for the parts to be told apart. */
  leastSpread: 2.5,
  /** The growing part is only looked for with a zone at this flow or above, g/s, and four zones. */
  growingFrom: 25,
  /** Shares of the greatest flow at which it may begin. */
  begins: [0, 0.3, 0.5, 0.7],
  /** Zones differ by at least this even on a healthy engine, percent points (an open data set: about 3). */
  leastZoneSpread: 1.5,
} as const;

/**
 * Flow through a leak as a share of the choked flow, by the pressure ratio across it: 1 up to 0.528, then the
 * isentropic orifice (Saint-Venant and Wantzel), gamma 1.4.
 */
export function leakShare(ratio: number): number {
  const gamma = 1.4;
  const critical = (2 / (gamma + 1)) ** (gamma / (gamma - 1));
  const flow = (r: number): number => Math.sqrt(r ** (2 / gamma) - r ** ((gamma + 1) / gamma));
  if (ratio <= critical) return 1;
  return ratio >= 1 ? 0 : flow(ratio) / flow(critical);
}

/**
 * Weighted fit over zones. A zone's weight is the inverse of the variance of its mean: between visits, plus a
 * spread between zones that is estimated so that the residuals fit it (Paule and Mandel 1982).
 */
export function fitZones(bank: number, zones: readonly Zone[]): Fit | null {
  const readings = zones.reduce((s, z) => s + z.readings, 0);
  const flows = zones.map((z) => z.flow);
  const flowFrom = Math.min(...flows);
  const flowTo = Math.max(...flows);
  if (zones.length < fitLimits.leastZones || readings < fitLimits.leastReadings) return null;
  if (flowTo / flowFrom < fitLimits.leastSpread) return null;
  const plain = solve(zones, { flowTo });
  if (plain === null) return null;
  const looked = flowTo >= fitLimits.growingFrom && zones.length >= 4;
  const grown = looked ? growing(zones, flowTo) : null;
  // A part that grows has to earn its place; where it does not it only blurs the other two.
  const sure =
    grown !== null && grown.d !== null && grown.bic < plain.bic && grown.d.value >= 2 * grown.d.error;
  const best = sure ? grown : plain;
  return {
    bank,
    a: best.a,
    b: best.b,
    c: null,
    ...(grown === null || grown.d === null ? {} : { d: { ...grown.d, sure } }),
    zoneSpread: best.spread,
    zones: zones.length,
    readings,
    flowFrom,
    flowTo,
  };
}

interface Parts extends Pick<Fit, "a" | "b"> {
  readonly d: { readonly value: number; readonly error: number; readonly from: number } | null;
  readonly spread: number;
  readonly bic: number;
}

/** The best shape with a growing part, by where it begins; null where none can be fitted. */
function growing(zones: readonly Zone[], flowTo: number): Parts | null {
  const found = fitLimits.begins.flatMap((from) => {
    const free = solve(zones, { flowTo, from });
    if (free === null) return [];
    // Less air than none: without it.
    const kept = free.a.value < 0 ? (solve(zones, { flowTo, from, withoutAir: true }) ?? free) : free;
    return [kept];
  });
  const best = found.sort((x, y) => x.bic - y.bic)[0];
  if (best === undefined || best.d === null) return null;
  return best.d.value < 0 ? { ...best, d: { ...best.d, value: 0 }, bic: Number.POSITIVE_INFINITY } : best;
}

/** How much of the growing part shows at this flow: 1 at the greatest. */
export function growth(flow: number, flowTo: number, from: number): number {
  return Math.max(0, flow / flowTo - from) ** 2 / (1 - from) ** 2;
}

interface Shape {
  readonly flowTo: number;
  /** Where the growing part begins, as a share of the greatest flow; left out: there is none. */
  readonly from?: number;
  readonly withoutAir?: boolean;
}

function solve(zones: readonly Zone[], { flowTo, from, withoutAir = false }: Shape): Parts | null {
  const rows = zones.map((z) => [
    ...(withoutAir ? [] : [(100 * z.choked) / z.flow]),
    100,
    ...(from === undefined ? [] : [100 * growth(z.flow, flowTo, from)]),
  ]);
  const within = visitVariance(zones);
  const own = zones.map((z) => within / z.visits);
  const y = zones.map((z) => z.correction);
  const { fit, spread } = spreadZones(rows, y, own);
  if (fit === null) return null;
  // The weights are inverse variances: the covariance is (X'WX)^-1 itself. Freedom is small: t instead of z.
  const widen = studentFactor(fit.freedom) / 1.96;
  const part = (i: number): Fit["a"] => ({
    value: fit.coefficients[i] ?? Number.NaN,
    error: Math.sqrt(fit.inverse[i]?.[i] ?? Number.NaN) * widen,
  });
  const air = withoutAir ? 0 : 1;
  return {
    a: withoutAir ? { value: 0, error: part(0).error } : part(0),
    b: part(air),
    d: from === undefined ? null : { ...part(air + 1), from },
    spread,
    bic: bicOf(rows, y, own),
  };
}

/** Schwarz's criterion on the weights of a sound engine, so that shapes are held against each other alike. */
function bicOf(rows: readonly (readonly number[])[], y: readonly number[], own: readonly number[]): number {
  const weights = own.map((v) => 1 / (v + fitLimits.leastZoneSpread ** 2));
  const fit = leastSquares(rows, y, weights);
  if (fit === null) return Number.POSITIVE_INFINITY;
  const squares = rows.reduce((s, row, i) => {
    const predicted = row.reduce((p, v, j) => p + v * (fit.coefficients[j] ?? 0), 0);
    return s + (weights[i] ?? 0) * ((y[i] ?? 0) - predicted) ** 2;
  }, 0);
  return squares + (rows[0]?.length ?? 0) * Math.log(rows.length);
}

/** Variance of one visit's mean, pooled over the zones, percent squared. */
function visitVariance(zones: readonly Zone[]): number {
  const freedom = zones.reduce((s, z) => s + Math.max(0, z.visits - 1), 0);
  const squares = zones.reduce((s, z) => s + z.squares, 0);
  // With single visits only, four points of spread are taken (an open data set).
  return freedom < 3 ? 16 : squares / freedom;
}

function spreadZones(
  rows: readonly (readonly number[])[],
  y: readonly number[],
  own: readonly number[],
): { fit: LeastSquares | null; spread: number } {
  const fitWith = (spread: number): { fit: LeastSquares | null; excess: number } => {
    const weights = own.map((v) => 1 / (v + spread * spread));
    const fit = leastSquares(rows, y, weights);
    if (fit === null) return { fit, excess: 0 };
    const excess = rows.reduce((s, row, i) => {
      const predicted = row.reduce((p, v, j) => p + v * (fit.coefficients[j] ?? 0), 0);
      return s + (weights[i] ?? 0) * ((y[i] ?? 0) - predicted) ** 2;
    }, -fit.freedom);
    return { fit, excess };
  };
  let low: number = fitLimits.leastZoneSpread;
  const least = fitWith(low);
  if (least.fit === null || least.fit.freedom === 0 || least.excess <= 0)
    return { fit: least.fit, spread: low };
  let high = low;
  while (fitWith(high).excess > 0 && high < 100) high *= 2;
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (fitWith(middle).excess > 0) low = middle;
    else high = middle;
  }
  return { fit: fitWith(high).fit, spread: high };
}

/** 97.5 % quantile of Student's t (published tables), for small degrees of freedom. */
const student = [12.71, 4.3, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23] as const;

function studentFactor(freedom: number): number {
  if (freedom < 1) return student[0];
  return student[freedom - 1] ?? 1.96 + 2.7 / freedom;
}
