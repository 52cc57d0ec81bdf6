/** Fuel correction by what the engine was doing: a table over speed and load, and points over air flow. Pure. */
import type { ChannelStore, Series } from "../../../../shared/channels.ts";
import { growth } from "../../../interpret/mixture/mixtureFit.ts";
import type { Fit } from "../../../interpret/report/schema.ts";
import { shown, type UnitSystem } from "../../../../shared/units.ts";

/** Trims and what they belong to are read in turn; this far apart they still belong together, milliseconds. */
const togetherMs = 4000;
/** Fewer readings than this are no figure. */
export const leastReadings = 5;

export interface MapCell {
  readonly count: number;
  /** Mean of short and long trim together, %. */
  readonly mean: number;
}

export interface MixtureMap {
  /** Lower borders of the columns, and one more; rpm. */
  readonly speeds: readonly number[];
  /** Lower borders of the rows, and one more; % of load, or kPa where there is no load. */
  readonly loads: readonly number[];
  readonly loadChannel: "load" | "manifold";
  /** Row by row, lowest load first. */
  readonly cells: readonly (readonly MapCell[])[];
  readonly readings: number;
}

interface Reading {
  readonly t: number;
  readonly correction: number;
}

/** Short and long trim of a bank in closed loop, together, at each reading of the short one. */
function* corrections(channels: ChannelStore, bank: number): Generator<Reading> {
  const short = channels.find(`trim-short-b${bank}`);
  const long = channels.find(`trim-long-b${bank}`);
  const loop =
    channels.find(bank === 2 ? "fuel-system-2" : "fuel-system-1") ?? channels.find("fuel-system-1");
  if (short === undefined || long === undefined) return;
  const longAt = new Beside(long);
  const loopAt = loop === undefined ? null : new Beside(loop);
  for (let i = 0; i < short.length; i++) {
    const t = short.times[i] ?? 0;
    const value = short.values[i] ?? Number.NaN;
    const other = longAt.at(t, togetherMs * 2);
    // Parameter 03: 2 and 16 are closed loop; a loop that is not known is taken as it comes.
    const state = loopAt?.at(t, 10_000);
    if (
      Number.isNaN(value) ||
      other === null ||
      (state !== undefined && state !== null && state !== 2 && state !== 16)
    )
      continue;
    yield { t, correction: value + other };
  }
}

/** The reading next before or after a time, for times that only rise. */
class Beside {
  readonly #series: Series;
  #next = 0;

  constructor(series: Series) {
    this.#series = series;
  }

  at(t: number, withinMs: number): number | null {
    const { times, values, length } = this.#series;
    while (this.#next < length && (times[this.#next] ?? 0) <= t) this.#next += 1;
    const before = this.#next - 1;
    const value = values[before];
    if (value === undefined || Number.isNaN(value) || t - (times[before] ?? 0) > withinMs) return null;
    return value;
  }
}

const columns = 8;
const rows = 7;

/** Null where the bank has no trims, or nothing that they could be laid over. */
export function mixtureMap(channels: ChannelStore, bank: number): MixtureMap | null {
  const speed = channels.find("engine-speed");
  const loadChannel = (channels.find("load")?.answered ?? 0) > 0 ? "load" : "manifold";
  const load = channels.find(loadChannel);
  if (speed === undefined || load === undefined) return null;
  const speedAt = new Beside(speed);
  const loadAt = new Beside(load);
  const found: { correction: number; speed: number; load: number }[] = [];
  for (const { t, correction } of corrections(channels, bank)) {
    const s = speedAt.at(t, togetherMs);
    const l = loadAt.at(t, togetherMs);
    if (s !== null && l !== null && s > 0) found.push({ correction, speed: s, load: l });
  }
  if (found.length === 0) return null;
  const speeds = borders(
    found.map((f) => f.speed),
    columns,
    [100, 250, 500, 1000],
  );
  const loads = borders(
    found.map((f) => f.load),
    rows,
    [5, 10, 20, 25],
  );
  const sums = loads.slice(1).map(() => speeds.slice(1).map(() => ({ count: 0, sum: 0 })));
  for (const f of found) {
    const cell = sums[place(loads, f.load)]?.[place(speeds, f.speed)];
    if (cell === undefined) continue;
    cell.count += 1;
    cell.sum += f.correction;
  }
  const cells = sums.map((row) =>
    row.map(({ count, sum }) => ({ count, mean: count < leastReadings ? Number.NaN : sum / count })),
  );
  return { speeds, loads, loadChannel, cells, readings: found.length };
}

/** Round borders that hold all values in at most so many steps. */
function borders(values: readonly number[], most: number, steps: readonly number[]): number[] {
  const low = values.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const high = values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const step = steps.find((s) => Math.floor(high / s) - Math.floor(low / s) < most) ?? (high - low) / most;
  const first = Math.floor(low / step);
  const count = Math.max(1, Math.min(most, Math.floor(high / step) - first + 1));
  return Array.from({ length: count + 1 }, (_, i) => (first + i) * step);
}

function place(edges: readonly number[], value: number): number {
  for (let i = 1; i < edges.length; i++) if (value < (edges[i] ?? 0)) return i - 1;
  return edges.length - 2;
}

export interface FlowPoint {
  /** g/s and %: means of the readings of one zone of air flow. */
  readonly flow: number;
  readonly correction: number;
  /** Standard error of the mean, %. */
  readonly error: number;
  readonly count: number;
}

/** Zones of air flow, each an eighth wider than the last; too few readings leave a zone out. */
export function flowPoints(channels: ChannelStore, bank: number): FlowPoint[] {
  const series = channels.find("air-flow");
  if (series === undefined) return [];
  const flowAt = new Beside(series);
  const zones = new Map<number, { n: number; flow: number; sum: number; squares: number }>();
  for (const { t, correction } of corrections(channels, bank)) {
    const flow = flowAt.at(t, togetherMs);
    if (flow === null || flow <= 0) continue;
    const id = Math.round(Math.log(flow) / Math.log(1.125));
    const zone = zones.get(id) ?? { n: 0, flow: 0, sum: 0, squares: 0 };
    zones.set(id, zone);
    zone.n += 1;
    zone.flow += flow;
    zone.sum += correction;
    zone.squares += correction * correction;
  }
  return [...zones.values()]
    .filter((zone) => zone.n >= leastReadings)
    .map(({ n, flow, sum, squares }) => ({
      flow: flow / n,
      correction: sum / n,
      error: Math.sqrt(Math.max(0, squares - (sum * sum) / n) / (n - 1) / n),
      count: n,
    }))
    .sort((a, b) => a.flow - b.flow);
}

export interface CurvePoint {
  readonly flow: number;
  /** %, with twice the standard error to both sides. */
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

interface Part {
  readonly value: number;
  readonly error: number;
}

export interface FittedShape {
  readonly a: Part;
  readonly b: Part;
  readonly d?: (Part & { readonly from: number; readonly sure: boolean }) | undefined;
  readonly flowFrom: number;
  readonly flowTo: number;
}

/** The growing part where it is sure: the other two belong to a fit without it where it is not. */
export function sureGrowth({ d }: Pick<FittedShape, "d">): NonNullable<FittedShape["d"]> | null {
  return d?.sure === true ? d : null;
}

/** The fitted shape (interpret/mixture/mixtureFit.ts) as the correction in %; errors taken as independent. */
export function flowCurve(fit: FittedShape, steps: number): CurvePoint[] {
  return Array.from({ length: steps + 1 }, (_, i) => {
    const flow = fit.flowFrom * (fit.flowTo / fit.flowFrom) ** (i / steps);
    const d = sureGrowth(fit) ?? { value: 0, error: 0, from: 0 };
    const grown = growth(flow, fit.flowTo, d.from);
    const mean = 100 * (fit.a.value / flow + fit.b.value + d.value * grown);
    const error = 100 * Math.hypot(fit.a.error / flow, fit.b.error, d.error * grown);
    return { flow, mean, low: mean - 2 * error, high: mean + 2 * error };
  });
}

/** What the fit says, over its pictures: "1.1 ± 0.3 g/s unmetered, 4 ± 2 % at all loads". */
export function fitWords(fit: Fit, system: UnitSystem): string {
  const flow = (g: number): string => {
    const { value, digits } = shown(g, "g/s", system);
    return value.toFixed(Math.min(digits, 1));
  };
  const share = (part: { readonly value: number; readonly error: number }): string =>
    `${(part.value * 100).toFixed(0)} ± ${(part.error * 100).toFixed(0)} %`;
  const { symbol } = shown(0, "g/s", system);
  return `${flow(fit.a.value)} ± ${flow(fit.a.error)} ${symbol} unmetered, ${share(fit.b)} at all loads`;
}
