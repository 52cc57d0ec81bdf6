/**
 * Relative compression from what the supply does while the starter turns them. Each compression pulls speed down
 * and current up. Over the engine's angle the voltage is a slow drift and waves: order n, as many a cycle as there are
 * cylinders, says how much compression there is in all; the orders below it say how unlike the cylinders are. Both are
 * told in parts of the fall under the starter and times the number of cylinders: current goes with torque, so what is left
 * is how much of the starter's work goes into one compression.
 */
import { floored, median, quantile } from "../maths/stats.ts";
import { seeded } from "../../../shared/seeded.ts";
import type { TimedValues } from "../folds/windows.ts";
import { searchRate } from "./rateSearch.ts";
import { meterOf, type Meter } from "./voltmeter.ts";
import { bestNear, type Stretch, type WindowFit } from "./waves.ts";

export interface StrengthCrank {
  /** Starter on and let go, milliseconds. */
  readonly from: number;
  readonly to: number;
  readonly restVolts: number;
  /** From a second before to a second behind, so that the voltmeter can be judged by its steps. */
  readonly volts: TimedValues;
  readonly speed: TimedValues;
}

export interface StrengthInput {
  readonly cylinders: number;
  readonly cranks: readonly StrengthCrank[];
}

/** A figure with its interval and the windows behind it. */
export interface StrengthFigure {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly windows: number;
  readonly samples: number;
}

export interface Strength {
  readonly verdict: "even" | "one-weak" | "all-weak" | "cannot-tell";
  /** Why nothing can be told; empty where something is. */
  readonly why: string;
  /** How unlike the cylinders are, and how much compression there is; null where the readings do not carry it. */
  readonly uneven: StrengthFigure | null;
  readonly firing: StrengthFigure | null;
  readonly rpm: number | null;
  /** Readings a second and a firing. */
  readonly perSecond: number;
  readonly perFiring: number;
  readonly meter: Meter;
}

export const strengthLimits = {
  /** Spinning up is left out, and the last instants, milliseconds. */
  rampMs: 700,
  endMs: 100,
  windowMs: 1500,
  /**
   * Readings needed: a second for unlike cylinders, a firing for how much compression there is in all. With 8 to 11 a second a
   * stretch has little more readings than waves, and sound engines were called weak (3 of 660 on the bench).
   */
  perSecond: 12,
  perFiring: 2.5,
  leastWindows: 4,
  /** No starter turns slower or faster, rpm. */
  rpm: [90, 330],
  /** About a speed that was read the rate is looked for within this share. */
  about: 0.06,
  /** A voltmeter that smooths over more than this part of a firing hides it; of a cycle hides the cylinder. */
  smoothFiring: 0.45,
  smoothCycle: 0.6,
  /** A step may be so large a part of what is looked for. */
  mostStep: 0.15,
  /**
   * From this on one is weak, and below this all are. On the bench vehicles, petrol and diesel, of four to eight cylinders,
   * sound engines give 0 to 0.1 and 1.05 to 1.45; one cylinder at 60 % of the others' compression 0.6 to 1.1 (0.37 with a
   * voltmeter that smooths over 0.2 s), all at 60 % 0.66 to 0.84. What real engines give is not known yet.
   */
  uneven: 0.24,
  firing: 0.93,
  /** With fewer readings a firing its wave leaks into the lower orders: the limit is so many times as high. */
  sparse: 1.75,
  /** Where the interval reaches beyond this share of the limit it is not told. */
  sure: 0.75,
  resamples: 400,
} as const;

/** How far readings carry: what they are in number, without working anything out. */
export interface Carries {
  /** Of the stretches that are read often enough; of all where none is. */
  readonly perSecond: number;
  /** Null without a speed to go by. */
  readonly perFiring: number | null;
  /** Stretches that are read often enough, and those that are not. */
  readonly stretches: number;
  readonly sparse: number;
}

export function carriesOf({ cylinders, cranks }: StrengthInput): Carries {
  const { dense, sparse, perSecond } = parted(cranks);
  const speeds = [...(dense.length === 0 ? sparse : dense)].flatMap(({ rpm }) => rpm ?? []);
  const perFiring = speeds.length === 0 ? null : perSecond / firingsPerSecond(median(speeds), cylinders);
  return { perSecond, perFiring, stretches: dense.length, sparse: sparse.length };
}

/**
 * Stretches that are read often enough, and the others. An attempt from before the capture, when every channel had its turn,
 * says nothing of what the adapter can: it is left out before anything is pooled.
 */
function parted(cranks: readonly StrengthCrank[]): {
  readonly dense: readonly Stretch[];
  readonly sparse: readonly Stretch[];
  readonly perSecond: number;
} {
  const all = cranks.flatMap((crank) => windowsOf(crank));
  const often = (w: Stretch): boolean => rateOf([w]) >= strengthLimits.perSecond;
  const dense = all.filter(often);
  return { dense, sparse: all.filter((w) => !often(w)), perSecond: rateOf(dense.length === 0 ? all : dense) };
}

/** Readings a second. */
function rateOf(stretches: readonly Stretch[]): number {
  const samples = stretches.reduce((sum, w) => sum + w.times.length, 0);
  const seconds = stretches.reduce((sum, w) => sum + (w.to - w.from) / 1000, 0);
  return seconds === 0 ? 0 : samples / seconds;
}

const firingsPerSecond = (rpm: number, cylinders: number): number => (rpm / 120) * cylinders;

export function strengthOf(input: StrengthInput): Strength {
  const { cylinders, cranks } = input;
  const meter = meterOf(cranks);
  const { dense, sparse, perSecond } = parted(cranks);
  const windows = dense.filter(({ times, fall }) => times.length >= 10 && fall > 0.2);
  const nothing = { uneven: null, firing: null, rpm: null, perSecond, perFiring: 0, meter };
  if (windows.length < strengthLimits.leastWindows) {
    const seldom = dense.length === 0 && sparse.length > 0;
    const why = needWords(seldom, perSecond, windows.length);
    return { verdict: "cannot-tell", why, ...nothing };
  }
  const unseen = windows.every(({ rpm }) => rpm === null);
  const search = unseen ? searchRate(windows, cylinders, perSecond) : null;
  const fits = search === null ? fitsOf(windows, cylinders) : search.fits;
  if (fits.length < strengthLimits.leastWindows) {
    const why = search?.why ?? "too few readings of RPM to count the turns";
    return { verdict: "cannot-tell", why, ...nothing };
  }
  const rpm = median(fits.map((f) => f.rpm));
  const firings = firingsPerSecond(rpm, cylinders);
  const perFiring = perSecond / firings;
  const fall = median(windows.map((w) => w.fall));
  const figure = (of: (fit: WindowFit) => number): StrengthFigure => pooled(fits, of, cylinders);
  // What one step of the meter is of the smallest wave that is looked for.
  const fine = (wave: number): boolean =>
    meter.stepVolts * strengthLimits.mostStep <= (wave * fall) / cylinders;
  const seesCycle =
    meter.smoothMs <= strengthLimits.smoothCycle * (120_000 / rpm) && fine(strengthLimits.uneven);
  const seesFiring =
    perFiring >= strengthLimits.perFiring && meter.smoothMs <= strengthLimits.smoothFiring * (1000 / firings);
  const uneven = seesCycle ? figure((f) => f.lower) : null;
  const firing = seesFiring ? figure((f) => f.firing) : null;
  return {
    ...judged({ uneven, firing, perFiring, meter }),
    uneven,
    firing,
    rpm,
    perSecond,
    perFiring,
    meter,
  };
}

function needWords(seldom: boolean, perSecond: number, windows: number): string {
  if (!seldom)
    return `cranked too short: ${windows} of ${strengthLimits.leastWindows} stretches of ${strengthLimits.windowMs / 1000} s`;
  return `voltage read too seldom: ${floored(perSecond, 1)} readings a second, ${strengthLimits.perSecond} needed`;
}

function judged({
  uneven,
  firing,
  perFiring,
  meter,
}: Pick<Strength, "uneven" | "firing" | "perFiring" | "meter">): Pick<Strength, "verdict" | "why"> {
  const { sure } = strengthLimits;
  const limit = strengthLimits.uneven * (perFiring < strengthLimits.perFiring ? strengthLimits.sparse : 1);
  if (uneven !== null && uneven.value >= limit && uneven.low >= sure * limit)
    return { verdict: "one-weak", why: "" };
  const least = strengthLimits.firing;
  if (firing !== null && firing.value < least && firing.high < least / sure)
    return { verdict: "all-weak", why: "" };
  if (uneven === null) return { verdict: "cannot-tell", why: adapterWords(meter) };
  if (firing !== null) return { verdict: "even", why: "" };
  const why =
    meter.smoothMs > 0 && perFiring >= strengthLimits.perFiring
      ? adapterWords(meter)
      : `too few readings to judge all cylinders together: ${floored(perFiring, 1)} a firing, ${strengthLimits.perFiring} needed`;
  return { verdict: "cannot-tell", why };
}

function adapterWords({ smoothMs, stepVolts }: Meter): string {
  const what =
    smoothMs > 0
      ? `smooths over ${(smoothMs / 1000).toFixed(2)} s`
      : `has steps of ${stepVolts.toFixed(2)} V`;
  return `this adapter cannot show it: its voltmeter ${what}`;
}

/** Even stretches of each crank, behind the ramp. */
function windowsOf({ from, to, restVolts, volts, speed }: StrengthCrank): Stretch[] {
  const begin = from + strengthLimits.rampMs;
  const end = to - strengthLimits.endMs;
  const count = Math.floor((end - begin) / strengthLimits.windowMs);
  return Array.from({ length: Math.max(0, count) }, (_, i): Stretch => {
    const a = begin + ((end - begin) * i) / count;
    const b = begin + ((end - begin) * (i + 1)) / count;
    const within = (all: TimedValues): TimedValues => {
      const kept = all.times.flatMap((t, j) => (t >= a && t < b ? [j] : []));
      return { times: kept.map((j) => all.times[j] ?? 0), values: kept.map((j) => all.values[j] ?? 0) };
    };
    const inside = within(volts);
    const turning = within(speed).values.filter(
      (v) => v >= strengthLimits.rpm[0] && v <= strengthLimits.rpm[1],
    );
    return {
      ...{ from: a, to: b, times: inside.times, values: inside.values },
      fall: restVolts - median(inside.values),
      rpm: turning.length >= 3 ? median(turning) : null,
    };
  });
}

/** Each stretch at its own rate, looked for about the speed that was read: the starter slows as the battery gives. */
function fitsOf(windows: readonly Stretch[], cylinders: number): WindowFit[] {
  return windows.flatMap((w) => {
    const fit = w.rpm === null ? null : bestNear(w, cylinders, w.rpm, strengthLimits.about);
    return fit === null ? [] : [fit];
  });
}

/** Pooled over the stretches, with an interval that draws whole stretches anew; the seed is fixed. */
function pooled(
  fits: readonly WindowFit[],
  of: (fit: WindowFit) => number,
  cylinders: number,
): StrengthFigure {
  const squares = fits.map(of);
  // The median: with few readings a single stretch may be fitted by waves that are not there.
  const root = (values: readonly number[]): number => cylinders * Math.sqrt(Math.max(0, median(values)));
  const random = seeded(20_260_111);
  const draws = Array.from({ length: strengthLimits.resamples }, () =>
    root(squares.map(() => squares[Math.floor(random() * squares.length)] ?? 0)),
  );
  return {
    value: root(squares),
    low: quantile(draws, 0.025),
    high: quantile(draws, 0.975),
    windows: fits.length,
    samples: fits.reduce((sum, f) => sum + f.samples, 0),
  };
}
