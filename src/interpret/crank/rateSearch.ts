/**
 * How fast the engine turned, from the supply alone, where no speed is read. Waves of half the rate, of double, or of four
 * thirds explain much the same readings, so a rate is taken only where the waves themselves part it from the others.
 */
import { mean } from "../maths/stats.ts";
import { bestNear, type Stretch, type WindowFit } from "./waves.ts";

/** Chosen on cranks of the bench vehicles whose speed was kept from it; not tried on real ones yet. */
export const searchLimits = {
  /** Cranking speeds that are looked for, rpm: narrower than where a speed is read; an estimate. */
  rpm: [110, 290],
  /** Each trial looks this share about itself; the next one begins where it ends. */
  about: 0.05,
  /** Readings a firing at the fastest rate looked at: the second wave of each firing has to be seen. */
  perFiring: 2.3,
  /** Another rate explains the readings as well if it leaves no more than this many times as much. */
  alike: 1.35,
  /** The same rate, looked at from two sides. */
  same: 0.08,
  /** A lone wave below the firing order, with this share of all of them, is a firing order of another rate. */
  lone: 0.8,
} as const;

export interface RateSearch {
  readonly fits: readonly WindowFit[];
  /** Why none is told; null where one is. */
  readonly why: string | null;
}

interface Trial {
  readonly rpm: number;
  readonly fits: readonly WindowFit[];
  /** Sum of squares of what each stretch leaves. */
  readonly left: number;
}

const none = (why: string): RateSearch => ({ fits: [], why });

export function searchRate(windows: readonly Stretch[], cylinders: number, perSecond: number): RateSearch {
  const [slowest, fastest] = searchLimits.rpm;
  if (perSecond < searchLimits.perFiring * (fastest / 120) * cylinders)
    return none("no RPM, and the voltage was read too seldom to find it in the ripple");
  const trials: Trial[] = [];
  for (let rpm = slowest * (1 + searchLimits.about); rpm < fastest; rpm *= 1 + 2 * searchLimits.about) {
    const fits = windows.flatMap((w) => bestNear(w, cylinders, rpm, searchLimits.about) ?? []);
    if (fits.length < windows.length) continue;
    const left = fits.reduce((sum, fit) => sum + fit.left ** 2, 0);
    trials.push({ rpm: mean(fits.map((fit) => fit.rpm)), fits, left });
  }
  const least = Math.min(...trials.map(({ left }) => left));
  const alike = trials
    .filter(({ left }) => left <= searchLimits.alike ** 2 * least)
    .sort((a, b) => a.left - b.left);
  // Neighbours that met at one rate are one.
  const apart = alike.filter(
    (trial, i) => !alike.slice(0, i).some(({ rpm }) => Math.abs(trial.rpm / rpm - 1) < searchLimits.same),
  );
  const possible = apart.filter((trial) => falls(trial, cylinders) && !isLone(trial, cylinders));
  const [only, other] = possible;
  if (only === undefined) return none("no RPM, and the ripple of the supply fits no speed");
  if (other !== undefined) {
    const rates = possible.map(({ rpm }) => rpm.toFixed(0)).join(" or ");
    return none(`no RPM, and the ripple of the supply fits ${rates} rpm alike`);
  }
  return { fits: only.fits, why: null };
}

const powerOf = ({ fits }: Trial, order: number): number =>
  Math.max(0, mean(fits.map(({ powers }) => powers.get(order) ?? 0)));

/** The second wave of each firing is the weaker one; at half the true rate it is the other way about. */
const falls = (trial: Trial, cylinders: number): boolean =>
  powerOf(trial, cylinders) > powerOf(trial, 2 * cylinders);

/** One weak cylinder makes waves of all lower orders, the first most; a lone one of another order is a firing order. */
function isLone(trial: Trial, cylinders: number): boolean {
  const lower = [2, 3].filter((k) => k < cylinders).map((k) => powerOf(trial, k));
  const all = powerOf(trial, 1) + lower.reduce((a, b) => a + b, 0) + powerOf(trial, cylinders);
  return Math.max(0, ...lower) > searchLimits.lone * all;
}
