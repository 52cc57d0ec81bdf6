/**
 * Which cylinder does not pull, from what unplugging each one changed. The idle control gives back what a cylinder took
 * within seconds, so the mean of the speed alone says little: the first dip, the roughness, and the air and advance that
 * hold the speed say the same of it.
 */
import { bootstrapDifference } from "../maths/bootstrap.ts";
import { mean, median, robustScale } from "../maths/stats.ts";
import { round } from "../folds/figureReadings.ts";
import type { Balance } from "../report/schema.ts";

type Cylinder = Balance["cylinders"][number];
export type Also = NonNullable<Cylinder["also"]>[number];

/** Fewer cylinders cannot be told apart. */
const leastBalanced = 3;
/** A change counts as felt from this share of the median of all of them: a weak cylinder still pulls. An estimate. */
const feltShare = 0.3;

export interface Stretch {
  readonly during: readonly number[];
  readonly around: readonly number[];
}

/** How much more or less it became while unplugged, by the sign that losing a cylinder gives it; null with too few. */
export function changeOf(
  of: Also["of"],
  { during, around }: Stretch,
  { unit, least }: { readonly unit: string; readonly least: number },
): Also | null {
  if (Math.min(during.length, around.length) < least) return null;
  const statistic = (v: ArrayLike<number>): number => (of === "roughness" ? robustScale(v) : mean(v));
  const sign = of === "dip" ? -1 : 1;
  const found = bootstrapDifference(Float64Array.from(during), Float64Array.from(around), statistic);
  const [a, b] = [sign * found.low, sign * found.high];
  return {
    ...{ of, unit, change: round(sign * found.difference, 2) },
    interval: { low: round(Math.min(a, b), 2), high: round(Math.max(a, b), 2), level: found.level },
  };
}

interface Measured {
  readonly change: number;
  readonly low: number;
  readonly high: number;
}

const measures = ["drop", "dip", "roughness", "air", "advance"] as const;

function measured(c: Cylinder, of: (typeof measures)[number]): Measured | null {
  if (of === "drop") return { change: c.drop, low: c.interval.low, high: c.interval.high };
  const found = c.also?.find((a) => a.of === of);
  return found === undefined ? null : { change: found.change, ...found.interval };
}

/** A change that is sure, and as large as those of the others. */
function feels(c: Cylinder, all: readonly Cylinder[]): boolean {
  return measures.some((of) => {
    const own = measured(c, of);
    if (own === null || own.low <= 0) return false;
    const usual = median(all.flatMap((other) => measured(other, of)?.change ?? []));
    return own.change >= feltShare * usual;
  });
}

/** The one whose change stays below half of the least that the others surely show, by this measure. */
function deadBy(of: (typeof measures)[number], all: readonly Cylinder[]): number | null {
  const rows = all.flatMap((c) => {
    const found = measured(c, of);
    return found === null ? [] : [{ cylinder: c.cylinder, ...found }];
  });
  if (rows.length < all.length) return null;
  const [weakest, ...others] = rows.sort((a, b) => a.change - b.change);
  const least = Math.min(...others.map(({ low }) => low));
  return weakest !== undefined && least > 0 && weakest.high < least / 2 ? weakest.cylinder : null;
}

export function judgedBalance(found: readonly Cylinder[]): Balance {
  const all = [...found].sort((a, b) => a.cylinder - b.cylinder);
  const cylinders = all.map((c) => ({ ...c, pulls: feels(c, all) }));
  if (all.length < leastBalanced)
    return { cylinders, dead: null, words: "Cannot tell: it takes three cylinders, unplugged in turn." };
  const accused = new Set(measures.flatMap((of) => deadBy(of, all) ?? []));
  const [dead] = accused;
  if (dead !== undefined) {
    if (accused.size > 1 || cylinders.some((c) => c.cylinder === dead && c.pulls))
      return {
        ...{ cylinders, dead: null },
        words: "Cannot tell: speed, roughness and what holds the speed do not agree.",
      };
    return { cylinders, dead, words: `Cylinder ${dead} does not pull.` };
  }
  if (cylinders.every(({ pulls }) => pulls))
    return { cylinders, dead: null, words: "Every cylinder that was unplugged pulls." };
  const unsure = cylinders.filter(({ pulls }) => !pulls).length;
  const words =
    unsure > 1
      ? "Cannot tell: more than one cylinder shows no sure change."
      : "Cannot tell: the changes lie too close together.";
  return { cylinders, dead: null, words };
}

/** None is dead, and losing each was surely felt. */
export function everyOnePulls({ dead, cylinders }: Balance): boolean {
  return (
    dead === null &&
    cylinders.length >= leastBalanced &&
    cylinders.every((c) => c.pulls ?? c.interval.low > 0)
  );
}
