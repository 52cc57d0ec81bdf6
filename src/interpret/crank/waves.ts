/** Waves of the supply over the engine's angle, in one stretch of cranking. */
import { leastSquares } from "../maths/stats.ts";

export interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly times: readonly number[];
  readonly values: readonly number[];
  readonly fall: number;
  /** Speed that was read in it, rpm; null without. */
  readonly rpm: number | null;
}

export interface WindowFit {
  readonly rpm: number;
  /** Squares of the amplitudes, in parts of the fall, what noise adds taken off. */
  readonly lower: number;
  readonly firing: number;
  /** The same by order, from 1 to 3, the cylinders, and twice the cylinders where the readings carry it. */
  readonly powers: ReadonlyMap<number, number>;
  /** Standard deviation of what is left, volts. */
  readonly left: number;
  readonly samples: number;
}

export function bestNear(w: Stretch, cylinders: number, about: number, within: number): WindowFit | null {
  let best: WindowFit | null = null;
  // Fine enough that order eight is a twelfth of its turn out at the ends of a stretch.
  const steps = Math.ceil((within * about) / 0.8);
  for (let i = -steps; i <= steps; i++) {
    const fit = fitAt(w, cylinders, about + i * 0.8);
    if (fit !== null && (best === null || fit.left < best.left)) best = fit;
  }
  return best;
}

/** Drift and waves at this rate, by least squares. */
function fitAt(w: Stretch, cylinders: number, rpm: number): WindowFit | null {
  const middle = (w.from + w.to) / 2;
  const half = (w.to - w.from) / 2;
  const lower = [1, 2, 3].filter((k) => k < cylinders);
  const rate = w.times.length / ((w.to - w.from) / 1000);
  // A second wave of each firing is fitted where the readings carry it.
  const orders = [...lower, cylinders, ...(rate > (rpm / 120) * cylinders * 2.2 ? [2 * cylinders] : [])];
  const rows = w.times.map((t) => {
    const x = (t - middle) / half;
    // Degrees of the crankshaft over two turns: once round in this angle is one cycle.
    const cycle = (2 * Math.PI * rpm * (t - middle)) / 120_000;
    return [1, x, x * x, ...orders.flatMap((k) => [Math.cos(k * cycle), Math.sin(k * cycle)])];
  });
  const fit = leastSquares(rows, w.values);
  if (fit === null || fit.freedom < 4) return null;
  const power = (k: number): number => {
    const at = 3 + 2 * orders.indexOf(k);
    const noise = (fit.errors[at] ?? 0) ** 2 + (fit.errors[at + 1] ?? 0) ** 2;
    return ((fit.coefficients[at] ?? 0) ** 2 + (fit.coefficients[at + 1] ?? 0) ** 2 - noise) / w.fall ** 2;
  };
  return {
    rpm,
    lower: lower.reduce((sum, k) => sum + power(k), 0),
    firing: power(cylinders),
    powers: new Map(orders.map((k) => [k, power(k)])),
    left: fit.residual,
    samples: w.times.length,
  };
}
