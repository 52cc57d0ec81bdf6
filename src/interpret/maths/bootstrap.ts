import { seeded } from "../../../shared/seeded.ts";
import { mean, quantileSorted, variance } from "./stats.ts";

/** Correlation over more readings than this is not followed up. */
const longestLag = 500;

/**
 * How many independent readings the correlated ones are worth: n / (1 + 2 sum rho_k), the sum cut at the first
 * autocorrelation that is not positive (initial positive sequence, Geyer 1992). At least 1.
 */
export function effectiveNumber(values: ArrayLike<number>): number {
  const n = values.length;
  if (n < 4) return n;
  const m = mean(values);
  const v = variance(values) * (n - 1);
  if (!(v > 0)) return n;
  let sum = 0;
  for (let lag = 1; lag < Math.min(n / 2, longestLag); lag++) {
    let c = 0;
    for (let i = lag; i < n; i++) c += ((values[i] ?? m) - m) * ((values[i - lag] ?? m) - m);
    const rho = c / v;
    if (rho <= 0) break;
    sum += rho;
  }
  return Math.max(1, Math.min(n, n / (1 + 2 * sum)));
}

/** Block length in readings: long enough to keep the correlation, at least n^(1/3) (Hall, Horowitz, Jing 1995). */
export function blockLength(values: ArrayLike<number>): number {
  const n = values.length;
  const correlated = n / Math.max(1, effectiveNumber(values));
  return Math.max(1, Math.min(Math.ceil(n / 4), Math.ceil(Math.max(Math.cbrt(n), 2 * correlated))));
}

export interface Difference {
  /** Statistic during minus statistic around. */
  readonly difference: number;
  /** Interval of `level` from the bootstrap's quantiles. */
  readonly low: number;
  readonly high: number;
  readonly level: number;
}

export const bootstrapDefaults = { resamples: 600, seed: 20_240_229, level: 0.95 } as const;

/**
 * Difference of a statistic between two stretches of correlated readings, with an interval from a circular block
 * bootstrap (Politis and Romano 1992), each stretch resampled by itself. The seed is fixed.
 */
export function bootstrapDifference(
  during: Float64Array,
  around: Float64Array,
  statistic: (values: Float64Array) => number,
  options: { readonly resamples: number; readonly seed: number; readonly level: number } = bootstrapDefaults,
): Difference {
  const random = seeded(options.seed);
  const a = resampler(during, random);
  const b = resampler(around, random);
  const differences = new Float64Array(options.resamples);
  for (let i = 0; i < options.resamples; i++) differences[i] = statistic(a()) - statistic(b());
  differences.sort();
  const tail = (1 - options.level) / 2;
  return {
    difference: statistic(during) - statistic(around),
    low: quantileSorted(differences, tail),
    high: quantileSorted(differences, 1 - tail),
    level: options.level,
  };
}

function resampler(values: Float64Array, random: () => number): () => Float64Array {
  const n = values.length;
  const block = blockLength(values);
  const out = new Float64Array(n);
  return () => {
    for (let i = 0; i < n; i += block) {
      const start = Math.floor(random() * n);
      for (let k = 0; k < block && i + k < n; k++) out[i + k] = values[(start + k) % n] ?? Number.NaN;
    }
    return out;
  };
}
