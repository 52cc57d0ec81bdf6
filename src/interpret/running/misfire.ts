/** Misfire counters of service 06 as percent of firings, per cylinder and altogether. */
import { protocols } from "../../../shared/protocols.ts";
import type { ServiceAnswer } from "../../reading/index.ts";
import type { Context } from "../folds/context.ts";
import type { Source } from "../folds/source.ts";
import { round } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { HeldRange } from "../report/ranges.ts";
import type { Sign, Verdict } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";

/** Monitor A1 is the engine, A2 to AD cylinders 1 to 12 (maker's operation summary, 2005; service manual, 2012). */
const firstCylinder = 0xa2;
const lastCylinder = 0xad;
/** Misfires of this driving cycle (service manual, 2012). */
const currentCycle = 0x0c;

export const misfireLimits = {
  leastRevolutions: 200,
  /** Longest time between two readings of speed that turns are counted across, milliseconds. */
  longestStepMs: 5000,
  /** 13 CCR 1968.2(e)(3.1.3): more than nine tenths in one cylinder may be named alone. */
  single: 0.9,
  /** Fewer misfires than this name no cylinder. */
  leastCounted: 20,
  /** Two cylinders above a tenth each are several. */
  several: 0.1,
} as const;

/** Percent of the firings in so many revolutions; every cylinder fires once in two. */
export function percentOfFirings(misfires: number, revolutions: number, cylinders: number): number {
  return (100 * misfires) / ((revolutions * cylinders) / 2);
}

export interface MonitorResult {
  readonly monitor: number;
  readonly test: number;
  readonly value: number;
}

/** Results of a CAN reply to service 06: `46`, then monitor, test, unit, value, least, greatest for each test. */
export function monitorResults(data: Uint8Array): MonitorResult[] {
  const results: MonitorResult[] = [];
  if (data[0] !== 0x46) return results;
  for (let i = 1; i + 8 < data.length; i += 9) {
    results.push({
      monitor: data[i] ?? 0,
      test: data[i + 1] ?? 0,
      value: ((data[i + 3] ?? 0) << 8) | (data[i + 4] ?? 0),
    });
  }
  return results;
}

interface Count {
  readonly t: number;
  readonly count: number;
  /** Revolutions since the recording began, and since the engine was started; null when that was not seen. */
  readonly revolutions: number;
  readonly sinceStart: number | null;
  readonly era: number;
  readonly acted: boolean;
}

export interface CylinderShare {
  readonly cylinder: number;
  readonly misfires: number;
}

/** Several cylinders or one, by the regulation's rule; null where there is nothing to tell. */
export function whichCylinder(shares: readonly CylinderShare[]): {
  single: number | null;
  several: number[];
} {
  const total = shares.reduce((s, c) => s + c.misfires, 0);
  if (total === 0) return { single: null, several: [] };
  const single = shares.find((c) => c.misfires / total > misfireLimits.single);
  if (single !== undefined) return { single: single.cylinder, several: [] };
  const several = shares.filter((c) => c.misfires / total > misfireLimits.several).map((c) => c.cylinder);
  return { single: null, several };
}

/** 95 % interval of a share (Wilson, J. Am. Stat. Assoc. 22 (1927), 209-212). */
export function shareInterval(part: number, all: number): { readonly low: number; readonly high: number } {
  const z = 1.96;
  const p = part / all;
  const middle = (p + (z * z) / (2 * all)) / (1 + (z * z) / all);
  const half = (z / (1 + (z * z) / all)) * Math.sqrt((p * (1 - p)) / all + (z * z) / (4 * all * all));
  return { low: middle - half, high: middle + half };
}

export class MisfireCounts implements Topic {
  readonly #source: Source;
  readonly #counts = new Map<number, Count[]>();
  #next = 0;
  #revolutions = 0;
  /** An act makes it misfire just now: what is counted meanwhile is no evidence. */
  act = false;
  /** Counts of different eras have an act between them; and whether there was one in this run of the engine. */
  #era = 0;
  #acting = false;
  #acted = false;
  #atStart: number | null = null;
  #last: { t: number; speed: number } | null = null;

  constructor(source: Source) {
    this.#source = source;
  }

  take(instant: Instant): void {
    this.#answersBefore(instant.t);
    if (this.act || this.#acting) this.#era += 1;
    this.#acting = this.act;
    this.#acted ||= this.act;
    if (instant.regime === "run-up") this.#atStart ??= this.#revolutions;
    else if (!instant.running) {
      this.#atStart = null;
      this.#acted = false;
    }
    const speed = instant.get("engine-speed");
    if (speed === undefined) return;
    if (this.#last !== null && instant.t - this.#last.t <= misfireLimits.longestStepMs)
      this.#revolutions += ((this.#last.speed + speed) / 2) * ((instant.t - this.#last.t) / 60_000);
    this.#last = { t: instant.t, speed };
  }

  /** The end of the recording: what was answered after the last reading. */
  finish(): void {
    this.#answersBefore(Number.POSITIVE_INFINITY);
  }

  #answersBefore(t: number): void {
    for (;;) {
      const answer = this.#source.answers[this.#next];
      if (answer === undefined || answer.t >= t) return;
      this.#next += 1;
      this.#answer(answer);
    }
  }

  #answer(answer: ServiceAnswer): void {
    const { protocol } = this.#source;
    if (protocol === null || protocols[protocol].family !== "can") return;
    for (const { monitor, test, value } of monitorResults(answer.data)) {
      if (test !== currentCycle || monitor < firstCylinder || monitor > lastCylinder) continue;
      const cylinder = monitor - firstCylinder + 1;
      const list = this.#counts.get(cylinder) ?? [];
      const sinceStart = this.#atStart === null ? null : this.#revolutions - this.#atStart;
      list.push({
        t: answer.t,
        count: value,
        revolutions: this.#revolutions,
        sinceStart,
        era: this.#era,
        acted: this.#acted,
      });
      this.#counts.set(cylinder, list);
    }
  }

  /**
   * Which cylinder stands out between two times, by the counters read then: null for none, undefined when they do
   * not tell. Milliseconds.
   */
  standsOut(from: number, to: number, context: Context): number | null | undefined {
    const told = [...this.#counts].flatMap(([cylinder, list]) => {
      const span = longestSpan(list.filter((c) => c.t > from && c.t <= to));
      return span === null ? [] : [{ cylinder, ...span }];
    });
    if (told.length === 0 || told.length < this.#counts.size) return undefined;
    const misfires = told.reduce((s, c) => s + c.misfires, 0);
    const revolutions = Math.max(...told.map((c) => c.revolutions));
    const range = context.ranges.figure(revolutions >= 1000 ? "misfire-1000" : "misfire-200");
    const { verdict } = verdictOf(misfires, percentOfFirings(misfires, revolutions, told.length), range);
    if (verdict === "within") return null;
    return verdict === "outside" ? (whichCylinder(told).single ?? undefined) : undefined;
  }

  signs(context: Context): Sign[] {
    if (this.#counts.size === 0) return this.#uncounted(context);
    const spans = [...this.#counts].map(([cylinder, list]) => ({ cylinder, span: longestSpan(list) }));
    const told = spans.flatMap(({ cylinder, span }) => (span === null ? [] : [{ cylinder, ...span }]));
    const channels = ["engine-speed"];
    const range = context.ranges.figure("misfire-1000");
    if (told.length === 0) {
      const one = this.#fromOneReading();
      if (one !== null) return [one];
      return [
        makeSign("misfire.counts", {
          verdict: "cannot-tell",
          channels,
          range,
          note: "The counters belong to a driving cycle; needs two readings with 200 revolutions between.",
        }),
      ];
    }
    const cylinders = context.ranges.facts.cylinders ?? Math.max(...this.#counts.keys());
    const shares = told.map((c) => ({ cylinder: c.cylinder, misfires: c.misfires }));
    const which = whichCylinder(shares);
    const total = this.#total(told, cylinders, context, which);
    // Alone, a cylinder's count is only told of where the engine as a whole is conspicuous.
    if (total.verdict === "within") return [total];
    const named = told.filter((c) => which.single === c.cylinder || which.several.includes(c.cylinder));
    return [total, ...named.map((c) => cylinderSign(c, total.verdict, range))];
  }

  /** One reading of the counters tells which cylinder it is; how often it misses takes two. */
  #fromOneReading(): Sign | null {
    const latest = [...this.#counts].flatMap(([cylinder, list]) => {
      const last = list.at(-1);
      return last === undefined || last.acted ? [] : [{ cylinder, t: last.t, misfires: last.count }];
    });
    const total = latest.reduce((s, c) => s + c.misfires, 0);
    const { single } = whichCylinder(latest);
    const own = latest.find((c) => c.cylinder === single);
    if (own === undefined || latest.length < 2 || total < misfireLimits.leastCounted) return null;
    const { low, high } = shareInterval(own.misfires, total);
    if (low <= 0.5) return null;
    return makeSign("misfire.counts", {
      verdict: "near",
      of: `cylinder ${own.cylinder}`,
      cylinder: own.cylinder,
      windows: [{ from: own.t, to: own.t }],
      channels: ["engine-speed"],
      measured: {
        value: round((100 * own.misfires) / total, 1),
        unit: "%",
        what: `of ${total} misfires in this driving cycle are cylinder ${own.cylinder}'s`,
        samples: total,
        rate: null,
        interval: { low: round(100 * low, 1), high: round(100 * high, 1), level: 0.95 },
      },
      note: "The cylinder is known, how often it misfires is not. Needs a second reading, 200 revolutions later.",
    });
  }

  /** Roughness is judged at idle; a spark that gives in under load is seen by the counters alone. */
  #uncounted(context: Context): Sign[] {
    if (context.diesel || this.#revolutions < misfireLimits.leastRevolutions) return [];
    return [
      makeSign("misfire.counts", {
        verdict: "cannot-tell",
        channels: ["engine-speed"],
        range: context.ranges.figure("misfire-1000"),
        note: "No counters were read, and a weak spark misses under load first. Needs service 06 after a steady pull, on a vehicle with CAN.",
      }),
    ];
  }

  #total(
    told: readonly Told[],
    cylinders: number,
    context: Context,
    which: { readonly single: number | null; readonly several: readonly number[] },
  ): Sign {
    const misfires = told.reduce((s, c) => s + c.misfires, 0);
    const revolutions = Math.max(...told.map((c) => c.revolutions));
    const long = revolutions >= 1000;
    const range = context.ranges.figure(long ? "misfire-1000" : "misfire-200");
    const percent = percentOfFirings(misfires, revolutions, cylinders);
    const names =
      which.single !== null
        ? `Cylinder ${which.single} has more than nine in ten.`
        : which.several.length > 1
          ? `Several cylinders: ${which.several.join(", ")}.`
          : "";
    return makeSign("misfire.counts", {
      ...verdictOf(misfires, percent, range),
      of: "engine",
      windows: [{ from: Math.min(...told.map((c) => c.from)), to: Math.max(...told.map((c) => c.to)) }],
      channels: ["engine-speed"],
      range,
      measured: {
        value: round(percent, 3),
        unit: "%",
        what:
          `${misfires} misfires in ${revolutions.toFixed(0)} revolutions of ${cylinders} cylinders, ` +
          `as ${percent.toFixed(2)} % of firings (${(percent * cylinders).toFixed(1)} in 200 revolutions)`,
        samples: misfires,
        rate: null,
      },
      note: `${names}${misfires === 0 ? "Zero can also mean that the monitor is off." : ""}`.trim(),
      ...(which.single === null ? {} : { cylinder: which.single }),
      ...(misfires === 0 ? { looksLike: ["monitor-off"] as const } : {}),
    });
  }
}

interface Told {
  readonly cylinder: number;
  readonly misfires: number;
  readonly revolutions: number;
  readonly from: number;
  readonly to: number;
}

/** The latest stretch between two readings of a counter, as long as it did not fall back; or since the start. */
function longestSpan(list: readonly Count[]): Omit<Told, "cylinder"> | null {
  const last = list.at(-1);
  if (last === undefined) return null;
  let first: Count = last;
  for (let i = list.length - 2; i >= 0; i--) {
    const count = list[i];
    // A counter that fell belongs to another driving cycle.
    if (count === undefined || count.count > first.count || count.era !== first.era) break;
    first = count;
  }
  const revolutions = last.revolutions - first.revolutions;
  if (first !== last && revolutions >= misfireLimits.leastRevolutions)
    return { misfires: last.count - first.count, revolutions, from: first.t, to: last.t };
  if (last.sinceStart !== null && !last.acted && last.sinceStart >= misfireLimits.leastRevolutions)
    return { misfires: last.count, revolutions: last.sinceStart, from: last.t, to: last.t };
  return null;
}

function cylinderSign(told: Told, verdict: Verdict, range: HeldRange): Sign {
  return makeSign("misfire.counts", {
    verdict,
    of: `cylinder ${told.cylinder}`,
    cylinder: told.cylinder,
    windows: [{ from: told.from, to: told.to }],
    channels: ["engine-speed"],
    range,
    measured: {
      value: round(percentOfFirings(told.misfires, told.revolutions, 1), 2),
      unit: "%",
      what: `misfires of cylinder ${told.cylinder}: ${told.misfires} in ${told.revolutions.toFixed(0)} revolutions`,
      samples: told.misfires,
      rate: null,
    },
  });
}

/** Counts scatter like a Poisson number: the half width is 1.96 square roots of the count. */
function verdictOf(misfires: number, percent: number, range: HeldRange): { verdict: Verdict; side: "high" } {
  const half = misfires === 0 ? 0 : (percent * 1.96) / Math.sqrt(misfires);
  return { verdict: judge(percent, range, half).verdict, side: "high" };
}
