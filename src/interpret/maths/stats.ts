/** Order statistics and weighted least squares. Arrays of numbers in, numbers out; NaN where nothing was given. */

/** Quantile of sorted values by linear interpolation between order statistics (Hyndman and Fan 1996, type 7). */
export function quantileSorted(sorted: ArrayLike<number>, p: number): number {
  const n = sorted.length;
  if (n === 0) return Number.NaN;
  const h = (n - 1) * p;
  const low = Math.floor(h);
  const below = sorted[low] ?? Number.NaN;
  const above = sorted[Math.min(low + 1, n - 1)] ?? below;
  return below + (h - low) * (above - below);
}

export function quantile(values: ArrayLike<number>, p: number): number {
  return quantileSorted(Float64Array.from(values).sort(), p);
}

export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}

export function mean(values: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] ?? Number.NaN;
  return values.length === 0 ? Number.NaN : sum / values.length;
}

/** Sample variance, n - 1 in the denominator; NaN below two values. */
export function variance(values: ArrayLike<number>): number {
  if (values.length < 2) return Number.NaN;
  const m = mean(values);
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += ((values[i] ?? Number.NaN) - m) ** 2;
  return sum / (values.length - 1);
}

/** 1.4826 x median of |values|: the standard deviation, if they are Gaussian about zero (Rousseeuw, Croux 1993). */
export function robustScale(deviations: ArrayLike<number>): number {
  return 1.4826 * median(Float64Array.from(deviations, Math.abs));
}

/**
 * How many times each value was read. Readings are codes of a fixed step, so this stays small however long it
 * is fed, and quantiles are exact.
 */
export class Tally {
  readonly #counts = new Map<number, number>();
  #n = 0;
  #sum = 0;

  get n(): number {
    return this.#n;
  }

  add(value: number, times = 1): void {
    this.#counts.set(value, (this.#counts.get(value) ?? 0) + times);
    this.#n += times;
    this.#sum += value * times;
  }

  get mean(): number {
    return this.#n === 0 ? Number.NaN : this.#sum / this.#n;
  }

  get least(): number {
    return this.#n === 0 ? Number.NaN : Math.min(...this.#counts.keys());
  }

  get most(): number {
    return this.#n === 0 ? Number.NaN : Math.max(...this.#counts.keys());
  }

  /** The value at this share of the readings: the smallest whose cumulative share reaches p (type 1). */
  quantile(p: number): number {
    const sorted = [...this.#counts].sort((a, b) => a[0] - b[0]);
    let seen = 0;
    for (const [value, count] of sorted) {
      seen += count;
      if (seen >= p * this.#n - 1e-9 && seen > 0) return value;
    }
    return Number.NaN;
  }

  /** Share of readings for which the condition holds. */
  share(holds: (value: number) => boolean): number {
    let count = 0;
    for (const [value, times] of this.#counts) if (holds(value)) count += times;
    return this.#n === 0 ? Number.NaN : count / this.#n;
  }

  /** The value read most often; the lower of equals. */
  get mode(): number {
    let best = Number.NaN;
    let most = 0;
    for (const [value, count] of this.#counts)
      if (count > most || (count === most && value < best)) {
        best = value;
        most = count;
      }
    return best;
  }
}

export interface LeastSquares {
  readonly coefficients: readonly number[];
  /** Standard errors of the coefficients, from the residuals. */
  readonly errors: readonly number[];
  /** Residual standard deviation, weighted, on n - p degrees of freedom. */
  readonly residual: number;
  readonly freedom: number;
  /** (X'WX)^-1, row by row: times a known variance scale it gives the covariance of the coefficients. */
  readonly inverse: readonly (readonly number[])[];
}

/**
 * Weighted least squares by Householder reflections (Golub 1965): minimises sum w (y - X b)^2. `rows` are the
 * rows of X. Returns null when there are fewer rows than columns or the columns are dependent.
 */
export function leastSquares(
  rows: readonly (readonly number[])[],
  y: readonly number[],
  weights?: readonly number[],
): LeastSquares | null {
  const n = rows.length;
  const p = rows[0]?.length ?? 0;
  if (n < p || p === 0) return null;
  const root = (i: number): number => Math.sqrt(weights?.[i] ?? 1);
  const a = rows.map((row, i) => Float64Array.from(row, (v) => v * root(i)));
  const b = Float64Array.from(y, (v, i) => v * root(i));
  // Columns are brought to length one, so that very different magnitudes do not hide a dependence.
  const lengths = Array.from({ length: p }, (_, j) =>
    Math.sqrt(a.reduce((s, row) => s + (row[j] ?? 0) ** 2, 0)),
  );
  if (lengths.some((l) => l === 0 || !Number.isFinite(l))) return null;
  for (const row of a) for (let j = 0; j < p; j++) row[j] = (row[j] ?? 0) / (lengths[j] ?? 1);
  const r = triangular(a, b, p);
  if (r === null) return null;
  const inverseR = invertUpper(r);
  const scaled = inverseR.map((row) => row.reduce((s, v, j) => s + v * (b[j] ?? 0), 0));
  let squares = 0;
  for (let i = p; i < n; i++) squares += (b[i] ?? 0) ** 2;
  const freedom = n - p;
  const residual = freedom === 0 ? Number.NaN : Math.sqrt(squares / freedom);
  const inverse = inverseR.map((rowI, i) =>
    inverseR.map(
      (rowJ, j) =>
        rowI.reduce((s, v, k) => s + v * (rowJ[k] ?? 0), 0) / (lengths[i] ?? 1) / (lengths[j] ?? 1),
    ),
  );
  return {
    coefficients: scaled.map((v, j) => v / (lengths[j] ?? 1)),
    errors: inverse.map((row, i) => residual * Math.sqrt(row[i] ?? Number.NaN)),
    residual,
    freedom,
    inverse,
  };
}

/** Turns `a` into R and `b` into Q'b in place; returns the p x p upper part, or null if it is singular. */
function triangular(a: Float64Array[], b: Float64Array, p: number): number[][] | null {
  for (let j = 0; j < p; j++) {
    let length = 0;
    for (let i = j; i < a.length; i++) length += (a[i]?.[j] ?? 0) ** 2;
    length = Math.sqrt(length);
    const head = a[j]?.[j] ?? 0;
    if (length < 1e-13) return null;
    const alpha = head > 0 ? -length : length;
    const v = a.map((row, i) => (i < j ? 0 : i === j ? (row[j] ?? 0) - alpha : (row[j] ?? 0)));
    const vv = v.reduce((s, x) => s + x * x, 0);
    if (vv === 0) return null;
    for (let k = j; k < p; k++) {
      let dot = 0;
      for (let i = j; i < a.length; i++) dot += (v[i] ?? 0) * (a[i]?.[k] ?? 0);
      for (let i = j; i < a.length; i++) {
        const row = a[i];
        if (row !== undefined) row[k] = (row[k] ?? 0) - (2 * dot * (v[i] ?? 0)) / vv;
      }
    }
    let dot = 0;
    for (let i = j; i < b.length; i++) dot += (v[i] ?? 0) * (b[i] ?? 0);
    for (let i = j; i < b.length; i++) b[i] = (b[i] ?? 0) - (2 * dot * (v[i] ?? 0)) / vv;
  }
  return Array.from({ length: p }, (_, i) =>
    Array.from({ length: p }, (_, j) => (j < i ? 0 : (a[i]?.[j] ?? 0))),
  );
}

function invertUpper(r: readonly (readonly number[])[]): number[][] {
  const p = r.length;
  const inverse = Array.from({ length: p }, () => new Array<number>(p).fill(0));
  for (let j = p - 1; j >= 0; j--) {
    for (let i = j; i >= 0; i--) {
      let sum = i === j ? 1 : 0;
      for (let k = i + 1; k <= j; k++) sum -= (r[i]?.[k] ?? 0) * (inverse[k]?.[j] ?? 0);
      const row = inverse[i];
      if (row !== undefined) row[j] = sum / (r[i]?.[i] ?? Number.NaN);
    }
  }
  return inverse;
}

/** As text, cut and not rounded: what is short of a need never reads as if it were met. */
export function floored(value: number, digits: number): string {
  const unit = 10 ** digits;
  // What binary fractions take off is no shortfall.
  return (Math.floor(value * unit + 1e-9) / unit).toFixed(digits);
}
