/** What an adapter's voltmeter can show, measured from its own readings about cranks: its step, its noise, its smoothing. */
import { median, quantile } from "../maths/stats.ts";
import type { TimedValues } from "../folds/windows.ts";

export interface Meter {
  /** Least difference between two readings, volts; 0 where none is found. */
  readonly stepVolts: number;
  /** Standard deviation at rest, volts. */
  readonly noiseVolts: number;
  /** How long it takes over a step of the supply beyond the time between two readings, milliseconds. */
  readonly smoothMs: number;
}

interface Edged {
  readonly from: number;
  readonly to: number;
  readonly volts: TimedValues;
}

/** Of a mean over T, the two levels of an edge lie 0.6 T apart. The supply's own recovery after the release is slower than this only for its last part. */
const edge = { before: 1000, behind: 700, low: 0.15, high: 0.75 } as const;

export function meterOf(cranks: readonly Edged[]): Meter {
  const values = cranks.flatMap(({ volts }) => volts.values);
  // No edge is drawn steeper than the meter can, so of the two the steeper one tells: loads may come and go at the other.
  const rises = cranks.flatMap((crank) => {
    const edges = [fallOf(crank), riseOf(crank)].filter((e) => e !== null);
    return edges.length === 0 ? [] : [Math.min(...edges)];
  });
  const rests = cranks.flatMap(({ from, volts }) => {
    const still = volts.values.filter((_, i) => (volts.times[i] ?? 0) < from - 100);
    if (still.length < 4) return [];
    const middle = median(still);
    return [1.4826 * median(still.map((v) => Math.abs(v - middle)))];
  });
  return {
    stepVolts: stepOf(values),
    noiseVolts: rests.length === 0 ? 0 : median(rests),
    smoothMs: rises.length === 0 ? 0 : Math.round(median(rises)),
  };
}

/** All readings lie on multiples of it. */
function stepOf(values: readonly number[]): number {
  const kinds = [...new Set(values.map((v) => Math.round(v * 1000)))].sort((a, b) => a - b);
  const gaps = kinds.slice(1).map((v, i) => v - (kinds[i] ?? 0));
  return gaps.length === 0 ? 0 : Math.min(...gaps) / 1000;
}

/** From the first part of the fall as the starter comes on to the greater part of it, less the time between readings. */
function fallOf({ from, volts }: Edged): number | null {
  const still = volts.values.filter((_, i) => (volts.times[i] ?? 0) < from - 60);
  const near = volts.times.flatMap((t, i) => (t >= from - 60 && t < from + 500 ? [i] : []));
  if (still.length < 4 || near.length < 4) return null;
  const rest = median(still);
  const deep = rest - Math.min(...near.map((i) => volts.values[i] ?? rest));
  if (deep < 0.4) return null;
  const below = (share: number): number | undefined =>
    near.find((i) => (volts.values[i] ?? rest) <= rest - share * deep);
  const [first, most] = [below(edge.low), below(edge.high)];
  if (first === undefined || most === undefined) return null;
  return tookOf(volts, first, most);
}

function tookOf({ times }: TimedValues, first: number, most: number): number {
  const usual = ((times.at(-1) ?? 0) - (times[0] ?? 0)) / Math.max(1, times.length - 1);
  const took = Math.max(0, (times[most] ?? 0) - (times[first] ?? 0) - usual);
  return took / (edge.high - edge.low);
}

/** From the first part of the step at the release to the greater part of it, less the time between readings. */
function riseOf({ from, to, volts }: Edged): number | null {
  const at = (a: number, b: number): number[] =>
    volts.times.flatMap((t, i) => (t >= a && t < b ? [volts.values[i] ?? 0] : []));
  const during = at(Math.max(from, to - edge.before), to - 60);
  const behind = at(to + edge.behind * 0.6, to + edge.behind + 300);
  if (during.length < 4 || behind.length < 2) return null;
  const low = quantile(during, 0.9);
  const high = median(behind);
  if (high - low < 0.2) return null;
  const over = (share: number): number =>
    volts.times.findIndex((t, j) => t >= to - 60 && (volts.values[j] ?? 0) >= low + share * (high - low));
  const [first, most] = [over(edge.low), over(edge.high)];
  if (first < 0 || most < 0) return null;
  return tookOf(volts, first, most);
}
