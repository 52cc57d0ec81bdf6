/**
 * Surging: with the throttle left alone the speed of a standing engine goes up and down, again and again. An accessory
 * that cycles moves it by some two hundred, seconds apart (an open data set: 652 to 853 rpm), a foot moves the throttle;
 * neither is a surge. Where no plate throttles it and the pedal is not read, a foot is not seen, and nothing is said. Where speed is read less often than it turns, its course is not known: then it is near at most.
 */
import type { Context } from "../folds/context.ts";
import { FigureReadings, round } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { Sign, Window } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";
import { median } from "../maths/stats.ts";

export const huntingLimits = {
  /** A turn counts when the speed went on by this share of its level since, and at least by so many rpm. */
  leastShare: 0.2,
  leastRpm: 150,
  /** Turns further apart than this are no surge, milliseconds. */
  apartMs: 8000,
  /** So many turns in a row make one. */
  turns: 6,
  /** Throttle or pedal may move this far meanwhile, points. */
  leftAlone: 4,
  throttleMs: 8000,
  /** Time after the start, and without a gap in the speed; milliseconds. */
  settleMs: 10_000,
  gapMs: 3000,
  leastSeconds: 20,
  /** Readings of speed to a turn, for the course to be known. */
  readingsPerTurn: 2,
} as const;

interface Swing {
  readonly window: { readonly from: number; to: number };
  readonly ends: number[];
  readings: number;
  throttleLow: number;
  throttleHigh: number;
  /** The pedal itself, or the throttle, was read meanwhile. */
  pedal: boolean;
  plate: boolean;
}

interface Surge {
  readonly window: Window;
  /** Median of the swings from turn to turn, rpm. */
  readonly swing: number;
  readonly turns: number;
  /** It was read often enough to be followed. */
  readonly known: boolean;
  readonly pedal: boolean;
  readonly plate: boolean;
}

export class Hunting implements Topic {
  readonly #steady = new FigureReadings();
  readonly #surges: Surge[] = [];
  #since: number | null = null;
  #lastT = 0;
  /** The way the speed goes, and the furthest it got on it. */
  #way: 1 | -1 = 1;
  #extreme: { t: number; speed: number } | null = null;
  #swing: Swing | null = null;

  take(instant: Instant): void {
    const { t } = instant;
    const moving = (instant.latest("vehicle-speed", huntingLimits.throttleMs) ?? 0) > 3;
    if (!instant.running || moving) {
      this.#since = null;
      this.#forget();
      return;
    }
    this.#since ??= t;
    const speed = instant.get("engine-speed");
    if (speed === undefined || t - this.#since < huntingLimits.settleMs) return;
    if (t - this.#lastT > huntingLimits.gapMs) this.#forget();
    this.#lastT = t;
    this.#pedal(instant);
    if (instant.idling) this.#steady.add(t, speed);
    this.#follow(t, speed);
  }

  /** A foot on it ends what was a surge so far. */
  #pedal(instant: Instant): void {
    const pedal = instant.latest("pedal-d", huntingLimits.throttleMs);
    const position = pedal ?? instant.latest("throttle", huntingLimits.throttleMs);
    const swing = this.#swing;
    if (position === undefined || swing === null) return;
    if (pedal === undefined) swing.plate = true;
    else swing.pedal = true;
    swing.throttleLow = Math.min(swing.throttleLow, position);
    swing.throttleHigh = Math.max(swing.throttleHigh, position);
    if (swing.throttleHigh - swing.throttleLow > huntingLimits.leftAlone) this.#forget();
  }

  #follow(t: number, speed: number): void {
    const extreme = this.#extreme;
    if (this.#swing !== null) this.#swing.readings += 1;
    if (extreme === null || (speed - extreme.speed) * this.#way >= 0) {
      this.#extreme = { t, speed };
      return;
    }
    const least = Math.max(huntingLimits.leastRpm, huntingLimits.leastShare * Math.max(speed, extreme.speed));
    if (Math.abs(speed - extreme.speed) < least) return;
    this.#turn(extreme);
    this.#way = this.#way === 1 ? -1 : 1;
    this.#extreme = { t, speed };
  }

  #turn({ t, speed }: { readonly t: number; readonly speed: number }): void {
    if (this.#swing !== null && t - this.#swing.window.to > huntingLimits.apartMs) this.#close();
    this.#swing ??= {
      window: { from: t, to: t },
      ends: [],
      readings: 0,
      throttleLow: Number.POSITIVE_INFINITY,
      throttleHigh: Number.NEGATIVE_INFINITY,
      pedal: false,
      plate: false,
    };
    this.#swing.window.to = t;
    this.#swing.ends.push(speed);
  }

  #close(): void {
    const surge = surgeOf(this.#swing);
    if (surge !== null) this.#surges.push(surge);
    this.#swing = null;
  }

  #forget(): void {
    this.#close();
    this.#extreme = null;
  }

  signs(context: Context): Sign[] {
    const range = context.ranges.figure("hunting");
    const open = surgeOf(this.#swing);
    const surges = open === null ? this.#surges : [...this.#surges, open];
    const worst = surges.reduce((most, s) => Math.max(most, s.swing), 0);
    const found = judge(worst, range);
    const top = surges.filter((s) => s.swing === worst);
    const guessed = found.verdict === "outside" && !top.some((s) => s.known);
    // A plate that does not throttle does not show the foot: revved by hand and surging look the same.
    const throttled = context.profile.throttled.value === true;
    const unseen = found.verdict !== "within" && !top.some((s) => s.pedal || (s.plate && throttled));
    if (surges.length === 0 && this.#steady.seconds < huntingLimits.leastSeconds) return [];
    return [
      makeSign("mixture.hunting", {
        ...found,
        ...(unseen
          ? { verdict: "cannot-tell" as const, note: footUnseen }
          : guessed
            ? {
                verdict: "near" as const,
                note: "RPM was read too seldom to show the swing. Needs two readings a second or more.",
              }
            : {}),
        windows:
          surges.length === 0
            ? this.#steady.windows
            : surges
                .slice(-5)
                .reverse()
                .map((s) => s.window),
        channels: ["engine-speed", "throttle", "manifold", "air-flow"],
        range,
        measured: {
          value: round(worst, 1),
          unit: "rpm",
          what:
            surges.length === 0
              ? "swing of the speed that came back again and again"
              : `median swing of the speed, ${surges.reduce((n, s) => n + s.turns, 0)} turns in ${surges.length} ${surges.length === 1 ? "stretch" : "stretches"}`,
          samples: this.#steady.n,
          rate: this.#steady.rate,
        },
      }),
    ];
  }
}

const footUnseen =
  "RPM goes up and down, and nothing shows whether a foot on the pedal does it. Needs the position of the pedal.";

function surgeOf(swing: Swing | null): Surge | null {
  if (swing === null || swing.ends.length < huntingLimits.turns) return null;
  const steps = swing.ends.slice(1).map((end, i) => Math.abs(end - (swing.ends[i] ?? end)));
  const turns = swing.ends.length;
  const known = swing.readings >= huntingLimits.readingsPerTurn * turns;
  return {
    window: { ...swing.window },
    swing: median(steps),
    turns,
    known,
    pedal: swing.pedal,
    plate: swing.plate,
  };
}
