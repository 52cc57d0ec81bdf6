/**
 * Roughness of a standing engine: how far each reading of speed lies from its neighbours, in stretches where load is
 * flat. An accessory that cycles moves speed in steps with load and does not count; a cylinder that does not pull
 * shows in every reading.
 */
import type { Context } from "../folds/context.ts";
import { round, Windows } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { Sign } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";
import { median, robustScale } from "../maths/stats.ts";

export const roughnessLimits = {
  /** Stretch that is looked at as one, and how long before it load must have been flat too, milliseconds. */
  blockMs: 10_000,
  beforeMs: 6000,
  /** Greatest change of load (points) and manifold pressure (kPa), each as means over a second. */
  flat: 4,
  /** Neighbours within this time count, or else the nearest on both sides; milliseconds. */
  neighbourMs: 500,
  /** Readings that make one figure. */
  groupReadings: 15,
  /** With so many, one figure is enough. */
  manyReadings: 40,
  /** Readings of speed below this rate say little of single cylinders, a second. */
  fastRate: 4,
} as const;

/** Each reading less the mean of its neighbours, scaled to be the reading's own spread; same unit as the values. */
export function neighbourResiduals(times: readonly number[], values: readonly number[]): number[] {
  const residuals: number[] = [];
  let first = 0;
  let end = 0;
  let sum = 0;
  for (let i = 0; i < values.length; i++) {
    const t = times[i] ?? 0;
    while (end < values.length && (times[end] ?? 0) <= t + roughnessLimits.neighbourMs)
      sum += values[end++] ?? 0;
    while ((times[first] ?? 0) < t - roughnessLimits.neighbourMs) sum -= values[first++] ?? 0;
    const value = values[i] ?? 0;
    const count = end - first - 1;
    const before = times[i - 1];
    const after = times[i + 1];
    if (before === undefined || after === undefined) continue;
    if (count >= 4) residuals.push((value - (sum - value) / count) / Math.sqrt(1 + 1 / count));
    else {
      const share = (t - before) / (after - before || 1);
      const middle = (values[i - 1] ?? 0) * (1 - share) + (values[i + 1] ?? 0) * share;
      residuals.push((value - middle) / Math.sqrt(1 + share * share + (1 - share) * (1 - share)));
    }
  }
  return residuals;
}

export interface Group {
  readonly window: { readonly from: number; readonly to: number };
  readonly roughness: number;
  readonly readings: number;
}

class Flatness {
  readonly #buckets: { second: number; sum: number; n: number }[] = [];

  add(t: number, value: number): void {
    const second = Math.floor(t / 1000);
    const last = this.#buckets.at(-1);
    if (last?.second === second) {
      last.sum += value;
      last.n += 1;
    } else this.#buckets.push({ second, sum: value, n: 1 });
    const keep = (roughnessLimits.blockMs + roughnessLimits.beforeMs) / 1000 + 1;
    while ((this.#buckets[0]?.second ?? second) < second - keep) this.#buckets.shift();
  }

  /** Greatest less smallest mean of a second since `from`; null without readings. */
  range(from: number): number | null {
    const means = this.#buckets.filter((b) => b.second * 1000 >= from - 1000).map((b) => b.sum / b.n);
    return means.length === 0 ? null : Math.max(...means) - Math.min(...means);
  }
}

export class Roughness implements Topic {
  readonly #load = new Flatness();
  readonly #manifold = new Flatness();
  #block: { from: number; since: number; times: number[]; values: number[] } | null = null;
  #group: { from: number; to: number; residuals: number[] } | null = null;
  /** Figures kept: roughness of each group in hundredths of a percent would do, but few are made: one in 10 s. */
  readonly #groups: Group[] = [];
  readonly #flat = new Windows();
  #unsteady = 0;
  #movedAt = Number.NEGATIVE_INFINITY;
  #idleSeen = false;

  take(instant: Instant): void {
    const { t } = instant;
    for (const { channel, value } of instant.readings) {
      if (Number.isNaN(value)) continue;
      if (channel === "vehicle-speed" && value > 0) this.#movedAt = t;
      if (channel === "load") this.#load.add(t, value);
      else if (channel === "manifold") this.#manifold.add(t, value);
    }
    if (!instant.idling) {
      this.#block = null;
      return;
    }
    this.#idleSeen = true;
    const from = instant.since + roughnessLimits.beforeMs;
    if (t < from) return;
    if (this.#block?.since !== instant.since)
      this.#block = { from, since: instant.since, times: [], values: [] };
    if (t >= this.#block.from + roughnessLimits.blockMs) this.#close(t);
    const speed = instant.get("engine-speed");
    if (speed === undefined) return;
    this.#block.times.push(t);
    this.#block.values.push(speed);
  }

  #close(t: number): void {
    const block = this.#block;
    if (block === null) return;
    const to = block.from + roughnessLimits.blockMs;
    const since = block.from - roughnessLimits.beforeMs;
    // A vehicle that creeps has its clutch or converter at work on the engine.
    const steady =
      this.#movedAt < since &&
      [this.#load, this.#manifold].every((f) => (f.range(since) ?? 0) <= roughnessLimits.flat);
    const middle = median(block.values);
    if (!steady) this.#unsteady += 1;
    else if (block.values.length >= 5 && middle > 0) {
      const residuals = neighbourResiduals(block.times, block.values).map((r) => (100 * r) / middle);
      this.#gather({ from: block.from, to, residuals });
    }
    const steps = Math.floor((t - block.from) / roughnessLimits.blockMs);
    this.#block = {
      from: block.from + steps * roughnessLimits.blockMs,
      since: block.since,
      times: [],
      values: [],
    };
  }

  #gather(block: { readonly from: number; readonly to: number; readonly residuals: number[] }): void {
    this.#flat.addWindow(block);
    this.#group ??= { from: block.from, to: block.to, residuals: [] };
    this.#group.to = block.to;
    this.#group.residuals.push(...block.residuals);
    if (this.#group.residuals.length < roughnessLimits.groupReadings) return;
    this.#groups.push(groupOf(this.#group));
    this.#group = null;
  }

  /** Roughness of each stretch, newest last. */
  get figures(): readonly Group[] {
    return this.#groups;
  }

  signs(context: Context): Sign[] {
    const range = context.ranges.figure("roughness");
    const groups = [...this.#groups];
    if (groups.length === 0 && this.#group !== null && this.#group.residuals.length >= 8)
      groups.push(groupOf(this.#group));
    if (groups.length === 0) {
      const note = this.#unsteady > 0 ? "Load was never flat for sixteen seconds of idle at a stand. " : "";
      return [
        makeSign("misfire.rough", {
          verdict: "cannot-tell",
          channels: ["engine-speed", "load"],
          range,
          ...(this.#idleSeen ? { note: `${note}Needs twenty seconds of idle at steady load.` } : {}),
        }),
      ];
    }
    return [this.#sign(groups, context)];
  }

  #sign(groups: readonly Group[], context: Context): Sign {
    const range = context.ranges.figure("roughness");
    const judged = groups.map((g) => ({ g, half: halfWidth(range.high ?? 0, g.readings) }));
    const outside = judged.filter(({ g, half }) => judge(g.roughness, range, half).verdict === "outside");
    // A single figure from few readings can be chance: then it takes two.
    const alone = groups.length === 1 && (groups[0]?.readings ?? 0) >= roughnessLimits.manyReadings;
    const rough = outside.length >= (alone ? 1 : 2);
    const shown = rough ? outside.map(({ g }) => g) : groups;
    const value = median(shown.map((g) => g.roughness));
    const readings = shown.reduce((s, g) => s + g.readings, 0);
    const seconds = this.#flat.seconds;
    const all = groups.reduce((s, g) => s + g.readings, 0);
    const rate = seconds > 0 ? round(all / seconds, 2) : null;
    const least = judged.reduce((m, { half }) => Math.min(m, half), Number.POSITIVE_INFINITY);
    const verdict = rough ? "outside" : outside.length > 0 ? "near" : judge(value, range).verdict;
    return makeSign("misfire.rough", {
      verdict: verdict === "outside" && !rough ? "near" : verdict,
      windows: shown
        .map((g) => g.window)
        .reverse()
        .slice(0, 5),
      channels: ["engine-speed", "load", "manifold"],
      range,
      measured: {
        value: round(value, 2),
        unit: "%",
        what: rough
          ? `median roughness of ${outside.length} of ${stretches(groups.length)} at flat load`
          : `median roughness of ${stretches(groups.length)} at flat load`,
        samples: readings,
        rate,
      },
      note: resolution(rate, (range.high ?? 0) + least),
    });
  }
}

function groupOf(group: {
  readonly from: number;
  readonly to: number;
  readonly residuals: readonly number[];
}): Group {
  return {
    window: { from: group.from, to: group.to },
    roughness: robustScale(group.residuals),
    readings: group.residuals.length,
  };
}

/** 95 % half width of a spread from the median of deviations: its relative standard error is 1.17 / sqrt(n). */
function halfWidth(spread: number, readings: number): number {
  return (1.645 * 1.17 * spread) / Math.sqrt(readings);
}

function stretches(count: number): string {
  return count === 1 ? "1 stretch" : `${count} stretches`;
}

function resolution(rate: number | null, least: number): string {
  const slow =
    rate !== null && rate < roughnessLimits.fastRate
      ? " At this rate single misfires pass between readings; only a cylinder that is weak throughout shows."
      : "";
  return `The smallest roughness that would have been called outside here is ${least.toFixed(1)} %.${slow}`;
}
