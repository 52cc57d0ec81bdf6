/** Relative compression from the cranks of a recording, and that a turning engine shows without a speed. */
import { socketVoltage } from "../../../shared/decode.ts";
import type { ChannelStore } from "../../../shared/channels.ts";
import { between, ownSeries, type TimedValues } from "../folds/windows.ts";
import type { Source } from "../folds/source.ts";
import type { Crank } from "../report/schema.ts";
import { floored } from "../maths/stats.ts";
import {
  strengthLimits,
  strengthOf,
  type Strength,
  type StrengthCrank,
  type StrengthFigure,
} from "./cylinders.ts";

/** What is read about a crank, milliseconds before and behind it. */
const around = { before: 1000, behind: 1000 } as const;

/** Attempts that turned and did not fire: burning would hide the compressions. */
export const strengthAttempts = (cranks: readonly Crank[]): Crank[] =>
  cranks.filter((crank) => !crank.unseen && crank.restVolts !== null && crank.ranS === null);

export function strengthCranks(channels: ChannelStore, cranks: readonly Crank[]): StrengthCrank[] {
  const volts = ownSeries(channels, socketVoltage);
  const speed = ownSeries(channels, "engine-speed");
  return strengthAttempts(cranks).flatMap(({ from, to, restVolts }): StrengthCrank[] => {
    if (restVolts === null) return [];
    return [
      {
        ...{ from, to, restVolts: restVolts.value },
        volts: between(volts, from - around.before, to + around.behind),
        speed: between(speed, from, to),
      },
    ];
  });
}

/** Null where there is no crank to go by; `cylinders`: as the vehicle's facts say. */
export function strengthIn(
  channels: ChannelStore,
  cranks: readonly Crank[],
  cylinders: number | undefined,
): Strength | null {
  const usable = strengthCranks(channels, cranks);
  if (usable.length === 0 || cylinders === undefined || cylinders < 2) return null;
  return strengthOf({ cylinders, cranks: usable });
}

/** Worked out anew only when there is another crank: findings are told again and again while a recording grows. */
export class StrengthMemo {
  #key = "";
  #strength: Strength | null = null;

  of(
    { channels, lastTime }: Pick<Source, "channels" | "lastTime">,
    cranks: readonly Crank[],
    cylinders: number | undefined,
  ): Strength | null {
    // What is read right behind a crank belongs to it, and may not be all there yet.
    const whole = (to: number): boolean => lastTime > to + around.behind;
    const parts = cranks.map(({ from, to, ranS }) => `${from} ${to} ${ranS === null} ${whole(to)}`);
    const key = `${cylinders ?? ""} ${parts.join(" ")}`;
    if (key === this.#key) return this.#strength;
    this.#key = key;
    this.#strength = strengthIn(channels, cranks, cylinders);
    return this.#strength;
  }
}

/** Readings a second: to a tenth where they may fall short of what is needed. */
export const rateText = (perSecond: number): string =>
  floored(perSecond, perSecond < 2 * strengthLimits.perSecond ? 1 : 0);

/** The verdict in words, and what to do about it. */
export const strengthText = (strength: Strength): string =>
  strength.verdict === "cannot-tell" ? `cannot tell yet. ${nextTry(strength)}` : words[strength.verdict];

const words: Readonly<Record<Exclude<Strength["verdict"], "cannot-tell">, string>> = {
  even: "good and even on all cylinders",
  "one-weak": "uneven: one cylinder or more is weak. Do a compression test and a leak-down test",
  "all-weak": "low on all cylinders. Do a compression test, dry and wet",
};

/** What would tell more than these cranks did. */
function nextTry({ perSecond, perFiring, meter }: Strength): string {
  if (perSecond > 0 && (perSecond < strengthLimits.perSecond || falls(perFiring)))
    return "Crank again with voltage and speed alone, or use a compression gauge";
  if (perFiring > 0 && (meter.smoothMs > 0 || meter.stepVolts > 0))
    return "This adapter's voltmeter is too coarse for it: use a compression gauge";
  return "Crank again: four seconds, without firing";
}

const falls = (perFiring: number): boolean => perFiring > 0 && perFiring < strengthLimits.perFiring;

/** What the verdict rests on, and what is missing. */
export function strengthFigures({ why, uneven, firing, perSecond, perFiring }: Strength): string {
  return [
    why,
    uneven === null ? "" : `cylinder against cylinder ${intervalText(uneven)}`,
    firing === null ? "" : `all together ${intervalText(firing)}`,
    `${rateText(perSecond)} readings a second${perFiring > 0 ? `, ${floored(perFiring, 1)} a firing` : ""}`,
  ]
    .filter((part) => part !== "")
    .join("; ");
}

const intervalText = ({ value, low, high }: StrengthFigure): string =>
  `${value.toFixed(2)} (${low.toFixed(2)} to ${high.toFixed(2)})`;

/** Cycles a second that compressions of a starter have: 2 to 12 cylinders at 80 to 350 rpm. */
const ripple = {
  lowest: 3,
  highest: 24,
  step: 0.1,
  leastReadings: 12,
  chance: 1e-4,
  leastVolts: 0.03,
} as const;

export interface Ripple {
  /** Waves a second, and the amplitude, volts. */
  readonly hertz: number;
  readonly volts: number;
  /** The chance that noise alone shows as strong a wave. */
  readonly chance: number;
}

/**
 * A wave in the voltage under the starter, whatever the speed reads: only compressions make one. Its spectrum for uneven
 * spacing (Lomb 1976), with the chance of the highest of so many places (Scargle 1982). Null where there is none.
 */
export function rippleOf({ times, values }: TimedValues): Ripple | null {
  const n = values.length;
  if (n < ripple.leastReadings) return null;
  const flat = withoutDrift(times, values);
  const variance = flat.reduce((s, v) => s + v * v, 0) / (n - 3);
  if (!(variance > 0)) return null;
  const seconds = ((times.at(-1) ?? 0) - (times[0] ?? 0)) / 1000;
  let best = { power: 0, hertz: 0 };
  for (let hertz: number = ripple.lowest; hertz <= ripple.highest; hertz += ripple.step) {
    const power = powerAt(times, flat, hertz) / variance;
    // Of readings that are evenly spaced every wave has a twin above half their rate, as strong: the lower one is it.
    if (power > 1.01 * best.power) best = { power, hertz };
  }
  const places = Math.max(1, (ripple.highest - ripple.lowest) * seconds * 2);
  const chance = 1 - (1 - Math.exp(-best.power)) ** places;
  if (chance > ripple.chance) return null;
  const volts = Math.sqrt((4 * best.power * variance) / n);
  return volts < ripple.leastVolts ? null : { hertz: best.hertz, volts, chance };
}

function powerAt(times: readonly number[], values: readonly number[], hertz: number): number {
  const w = (2 * Math.PI * hertz) / 1000;
  let [s2, c2] = [0, 0];
  for (const t of times) {
    s2 += Math.sin(2 * w * t);
    c2 += Math.cos(2 * w * t);
  }
  const tau = Math.atan2(s2, c2) / (2 * w);
  let [c, s, cc, ss] = [0, 0, 0, 0];
  for (let i = 0; i < times.length; i++) {
    const x = Math.cos(w * ((times[i] ?? 0) - tau));
    const y = Math.sin(w * ((times[i] ?? 0) - tau));
    c += (values[i] ?? 0) * x;
    s += (values[i] ?? 0) * y;
    cc += x * x;
    ss += y * y;
  }
  // At the rate of even readings one of the two is next to nothing, and what it would add is rounding.
  const least = times.length * 0.05;
  return (cc > least ? (c * c) / (2 * cc) : 0) + (ss > least ? (s * s) / (2 * ss) : 0);
}

/** Less a straight line and its bend, by the sums of an even grid of Legendre polynomials. */
function withoutDrift(times: readonly number[], values: readonly number[]): number[] {
  const first = times[0] ?? 0;
  const half = Math.max(1, ((times.at(-1) ?? 0) - first) / 2);
  let left = [...values];
  const shapes = [(): number => 1, (x: number): number => x, (x: number): number => 1.5 * x * x - 0.5];
  // Twice: on an uneven grid the shapes are not quite square to each other.
  for (const shape of [...shapes, ...shapes, ...shapes]) {
    const at = times.map((t) => shape((t - first) / half - 1));
    const norm = at.reduce((sum, v) => sum + v * v, 0);
    const dot = at.reduce((sum, v, i) => sum + v * (left[i] ?? 0), 0);
    left = left.map((v, i) => v - (dot / Math.max(norm, 1e-9)) * (at[i] ?? 0));
  }
  return left;
}
