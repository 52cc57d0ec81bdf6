/** What must agree with the key on and the engine off: pressures, temperatures, throttle. */
import { regimeGroup } from "../../../shared/ranges.ts";
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import { standardPressure } from "../report/ranges.ts";
import type { Sign, Window } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";
import { median } from "../maths/stats.ts";

const followed = ["manifold", "barometric", "throttle", "coolant", "intake-air", "ambient"] as const;
type Followed = (typeof followed)[number];
const perChannel = 3;
/** After the engine stopped the manifold fills and the sensors settle, milliseconds. */
const settleMs = 3000;
/**
 * Readings this close to the end of the stretch may already belong to the start, milliseconds: a slow bus tells of
 * speed last. The first reading always counts.
 */
const startMs = 4000;
/** Above this, °C, the engine has been running not long ago. */
const warmCoolant = 50;

/** No weather is this hot, °C: the highest air temperature on record is 57 (World Meteorological Organization). */
const hottestWeather = 57;
/** Above the outside air by this, °C, or moving by that within its first readings, it is heat from a stop before. */
const soakAbove = 12;
const soakMoves = 2;
const soakedNote =
  "Heat from the last run soaks the intake sensor, so it does not read the air. Needs a start after a night's rest.";

interface Stretch {
  readonly since: number;
  /** The engine was not seen running before it. */
  readonly rested: boolean;
  end: number | null;
  readonly readings: Map<Followed, { t: number; value: number }[]>;
}

export class KeyOn implements Topic {
  #open: Stretch | null = null;
  #first: Stretch | null = null;
  #last: Stretch | null = null;
  #ran = false;
  #previous: string = "silent";

  take(instant: Instant): void {
    const { regime, since, t } = instant;
    if (regime !== "key-on") {
      if (this.#open !== null) this.#open.end = since;
      this.#open = null;
      const group = regimeGroup[regime] ?? regime;
      if (group === "running" || group === "idle" || regime === "run-up") this.#ran = true;
      this.#previous = regime;
      return;
    }
    if (this.#open?.since !== since) {
      this.#open = { since, rested: !this.#ran, end: null, readings: new Map() };
      this.#first ??= this.#open;
    }
    if (this.#previous !== "silent" && t - since < settleMs) return;
    for (const channel of followed) {
      const value = instant.get(channel);
      if (value === undefined) continue;
      const list = this.#open.readings.get(channel) ?? [];
      if (list.length < perChannel) list.push({ t, value });
      this.#open.readings.set(channel, list);
      this.#last = this.#open;
    }
  }

  /** Median of the first readings of the latest stretch that has any, and how many there were. */
  value(channel: Followed, which: "first" | "last" = "last"): { value: number; samples: number } | null {
    const stretch = which === "first" ? this.#first : this.#last;
    const list = stretch === null ? undefined : stretch.readings.get(channel);
    if (stretch === null || list === undefined || list.length === 0) return null;
    const end = stretch.end;
    const early = list.filter((r, i) => i === 0 || end === null || r.t <= end - startMs).map((r) => r.value);
    return { value: median(early), samples: early.length };
  }

  get window(): Window[] {
    const stretch = this.#last;
    if (stretch === null) return [];
    const times = [...stretch.readings.values()].flat().map((r) => r.t);
    return times.length === 0 ? [] : [{ from: Math.min(...times), to: Math.max(...times) }];
  }

  signs(context: Context): Sign[] {
    return [...this.#pressures(context), ...this.#temperatures(context), ...this.#throttle(context)];
  }

  #pressures(context: Context): Sign[] {
    const manifold = this.value("manifold");
    const barometric = this.value("barometric");
    const { altitudeM } = context.ranges.facts;
    const signs: Sign[] = [];
    if (manifold === null || (barometric === null && altitudeM === undefined)) {
      signs.push(makeSign("sensor.key-on-manifold", { verdict: "cannot-tell" }));
    } else if (barometric !== null) {
      const difference = manifold.value - barometric.value;
      const range = context.ranges.figure("key-on-manifold");
      signs.push(
        makeSign("sensor.key-on-manifold", {
          ...judge(difference, range, manifold.samples < 2 ? 2 : 1),
          windows: this.window,
          channels: ["manifold", "barometric"],
          range,
          measured: {
            value: round(difference, 2),
            unit: "kPa",
            what: `manifold ${manifold.value} kPa less barometric ${barometric.value} kPa, engine off`,
            samples: Math.min(manifold.samples, barometric.samples),
            rate: null,
          },
        }),
      );
    }
    const outside = barometric ?? manifold;
    if (altitudeM !== undefined && outside !== null) {
      const expected = standardPressure(altitudeM);
      const range = context.ranges.figure("altitude-pressure");
      signs.push(
        makeSign("sensor.altitude", {
          ...judge(outside.value - expected, range, 1),
          windows: this.window,
          channels: ["barometric", "manifold"],
          range: { ...range, replaced: true },
          measured: {
            value: round(outside.value - expected, 2),
            unit: "kPa",
            what: `read ${outside.value} kPa, ${expected.toFixed(1)} kPa by ISA at ${altitudeM} m`,
            samples: outside.samples,
            rate: null,
          },
        }),
      );
    }
    return signs;
  }

  #temperatures(context: Context): Sign[] {
    const coolant = this.value("coolant", "first");
    const intake = this.value("intake-air", "first") ?? this.value("ambient", "first");
    if (coolant === null || intake === null || this.#first?.rested !== true)
      return [makeSign("sensor.coolant-intake", { verdict: "cannot-tell" })];
    if (this.#soaked(intake.value))
      return [makeSign("sensor.coolant-intake", { verdict: "cannot-tell", note: soakedNote })];
    if ([coolant.value, intake.value].some((v) => v <= -39.5 || v >= 140)) return [];
    const difference = coolant.value - intake.value;
    const range = context.ranges.figure("coolant-intake");
    const parts = {
      windows: this.window,
      channels: ["coolant", "intake-air"],
      range,
      measured: {
        value: difference,
        unit: "°C",
        what: `coolant ${coolant.value} °C less intake ${intake.value} °C before the start`,
        samples: Math.min(coolant.samples, intake.samples),
        rate: null,
      },
    };
    // What an engine under its hood heats, the intake sensor is in the midst of: after a stop either may be the warmer.
    if (coolant.value >= warmCoolant)
      return [
        makeSign("sensor.coolant-intake", {
          ...parts,
          verdict: "cannot-tell",
          note: "The engine is warm, or the sensor says so: only a start after a night's rest would tell.",
        }),
      ];
    const found = judge(difference, range, 3);
    // A coolant that is warmer than the air can always be an engine that has not cooled down yet.
    const verdict = found.side === "high" && found.verdict === "outside" ? "near" : found.verdict;
    return [makeSign("sensor.coolant-intake", { ...parts, verdict, side: found.side })];
  }

  /** The intake sensor tells of heat that stands about it, and not of the air. */
  #soaked(intake: number): boolean {
    const list = this.#first?.readings.get("intake-air")?.map((r) => r.value) ?? [];
    const ambient = this.value("ambient", "first")?.value ?? null;
    const moves = list.length > 1 && Math.max(...list) - Math.min(...list) > soakMoves;
    return (
      intake >= hottestWeather ||
      moves ||
      (ambient !== null && intake - ambient > soakAbove && list.length > 0)
    );
  }

  #throttle(context: Context): Sign[] {
    const throttle = this.value("throttle");
    if (throttle === null) return [];
    const range = context.ranges.figure("throttle-rest");
    return [
      makeSign("sensor.throttle-rest", {
        ...judge(throttle.value, range, throttle.samples < 2 ? Number.POSITIVE_INFINITY : 3),
        of: "key-on",
        windows: this.window,
        channels: ["throttle", "pedal-d"],
        range,
        measured: {
          value: round(throttle.value, 1),
          unit: "%",
          what: "throttle, key on, engine off",
          samples: throttle.samples,
          rate: null,
        },
      }),
    ];
  }
}
