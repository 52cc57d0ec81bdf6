/** Every attempt to start, with its figures and the number of readings behind each. */
import type { ChannelStore, Series } from "../../../shared/channels.ts";
import { socketVoltage } from "../../../shared/decode.ts";
import { regimeGroup, type Regime } from "../../../shared/ranges.ts";
import { supplyScale } from "../../../shared/supply.ts";
import { round } from "../folds/figureReadings.ts";
import { regimeLimits } from "../folds/regimeLimits.ts";
import type { RegimeSpan } from "../folds/regimes.ts";
import { sagLimits } from "../power/sag.ts";
import type { Counted, Crank, Outcome, Window } from "../report/schema.ts";
import { quantile } from "../maths/stats.ts";
import { between, countedMean, countedMedian, interval, lastBefore, ownSeries } from "../folds/windows.ts";

export const crankLimits = {
  /** What runs this long after it fired has started; seconds (common practice). */
  keptRunningS: 5,
  /** A sag this deep without speed is an engine that does not turn, volts on a 12 V system (common practice). */
  deepSag: 3.5,
  deepVolts: 8.5,
  /** Pull-down that proves turning, kPa. */
  turningPullDown: 2,
  restMs: 10_000,
  /** Readings this close before the crank may belong to it, milliseconds. */
  restEndMs: 1500,
  /** Without data for no longer than this, starter on before and behind it, it is one attempt, milliseconds. */
  gapMs: regimeLimits.gapMs,
  /** A starter that stands still: its volts lie this far below those while it turned, and are this flat. 12 V system. */
  stalledBelow: 0.3,
  stalledRipple: 0.15,
  stalledReadings: 4,
  /** After an engine stopped the volts settle, milliseconds. */
  restAfterRunMs: 3000,
} as const;

/** An attempt as the regimes show it, before its figures. */
export interface Attempt {
  readonly from: number;
  readonly to: number;
  readonly unseen: boolean;
  /** Seconds it ran after firing; null when it did not fire. */
  readonly ranS: number | null;
  readonly ended: Regime | "end";
  readonly marked: boolean;
  /** Where the key-on before it began, milliseconds; null when the engine came straight from running. */
  readonly restFrom: number | null;
}

const starting: ReadonlySet<Regime> = new Set<Regime>(["cranking", "no-speed"]);

function isRunning(regime: Regime): boolean {
  const group = regimeGroup[regime] ?? regime;
  return regime === "run-up" || group === "idle" || group === "running";
}

/** Attempts in the spans; `marked` are stretches that a person called a crank. */
export function findAttempts(
  spans: readonly RegimeSpan[],
  speed: Series | undefined,
  marked: readonly Window[] = [],
): Attempt[] {
  const attempts: Attempt[] = [];
  for (let i = 0; i < spans.length; i++) {
    const span = spans[i];
    if (span === undefined) continue;
    const before = spans[i - 1]?.regime;
    if (starting.has(span.regime) && (before === undefined || !starting.has(before))) {
      const j = lastOf(spans, i);
      const next = spans[j + 1];
      const to = spans[j]?.to ?? span.to;
      const restFrom = restBegin(spans, i);
      i = j;
      attempts.push({
        from: span.from,
        to,
        unseen: false,
        marked: false,
        restFrom,
        ...after(spans, j + 1, next),
      });
    } else if (span.regime === "run-up" && (before === undefined || !starting.has(before))) {
      const zero = lastBefore(speed, span.from - 1, regimeLimits.silentMostMs);
      const from = zero?.t ?? span.from;
      const restFrom = restBegin(spans, i);
      attempts.push({ from, to: span.from, unseen: true, marked: false, restFrom, ...after(spans, i, span) });
    }
  }
  for (const { from, to } of marked) {
    if (attempts.some((a) => a.from <= to && a.to >= from)) continue;
    attempts.push({
      from,
      to,
      unseen: true,
      marked: true,
      ranS: null,
      ended: "key-on",
      restFrom: from - crankLimits.restMs,
    });
  }
  return attempts.sort((a, b) => a.from - b.from);
}

/** The last span of the attempt that begins with this one: the starter is on at both sides of a short gap in the data. */
function lastOf(spans: readonly RegimeSpan[], index: number): number {
  let j = index;
  for (;;) {
    const next = spans[j + 1];
    if (next === undefined) return j;
    if (starting.has(next.regime)) {
      j += 1;
      continue;
    }
    const behind = spans[j + 2];
    const gap = next.regime === "silent" && next.to - next.from <= crankLimits.gapMs;
    if (!gap || behind === undefined || !starting.has(behind.regime)) return j;
    j += 2;
  }
}

/** Beginning of the standing still before the span with this index. */
function restBegin(spans: readonly RegimeSpan[], index: number): number | null {
  const before = spans[index - 1];
  if (before === undefined || (before.regime !== "key-on" && before.regime !== "silent")) return null;
  const ran = spans[index - 2];
  const settle = ran !== undefined && ran.regime !== "silent" ? crankLimits.restAfterRunMs : 0;
  return before.from + settle < before.to ? before.from + settle : null;
}

function after(
  spans: readonly RegimeSpan[],
  index: number,
  next: RegimeSpan | undefined,
): Pick<Attempt, "ranS" | "ended"> {
  if (next?.regime !== "run-up") return { ranS: null, ended: next?.regime ?? "end" };
  let j = index;
  while (isRunning(spans[j + 1]?.regime ?? "silent")) j += 1;
  const ranS = ((spans[j]?.to ?? next.to) - next.from) / 1000;
  return { ranS, ended: spans[j + 1]?.regime ?? "end" };
}

/** The figures of each attempt; numbers count from 1. */
export function crankFigures(attempts: readonly Attempt[], store: ChannelStore, slowBelow: number): Crank[] {
  const channels = {
    speed: ownSeries(store, "engine-speed"),
    volts: [ownSeries(store, "module-voltage"), ownSeries(store, socketVoltage)],
    manifold: ownSeries(store, "manifold"),
    barometric: ownSeries(store, "barometric"),
    throttle: ownSeries(store, "throttle"),
    loop: ownSeries(store, "fuel-system-1"),
    coolant: ownSeries(store, "coolant"),
    intake: ownSeries(store, "intake-air"),
  };
  return attempts.map((attempt, i) => figuresOf(attempt, i + 1, channels, slowBelow));
}

interface Channels {
  readonly speed: Series | undefined;
  readonly volts: readonly (Series | undefined)[];
  readonly manifold: Series | undefined;
  readonly barometric: Series | undefined;
  readonly throttle: Series | undefined;
  readonly loop: Series | undefined;
  readonly coolant: Series | undefined;
  readonly intake: Series | undefined;
}

function figuresOf(attempt: Attempt, number: number, channels: Channels, slowBelow: number): Crank {
  const { from, to, ranS } = attempt;
  const volts = voltFigures(attempt, channels.volts);
  const all = between(channels.speed, from, to);
  const turning = all.values.filter((v) => v >= regimeLimits.turning && v < regimeLimits.running);
  const speed = countedMedian(turning);
  const firstTurn = all.values.findIndex((v) => v >= regimeLimits.turning);
  const lastTurn = all.values.findLastIndex((v) => v >= regimeLimits.turning);
  const zeros = all.values.filter((v, i) => i > firstTurn && i < lastTurn && v < regimeLimits.turning).length;
  const scale = supplyScale(volts.figures.restVolts?.value ?? null);
  const stalled = stalledVolts(attempt, all, channels.volts, scale);
  const pullDown = pullDownOf(attempt, channels);
  const fast = interval(channels.speed, from - 5000, to + 5000);
  const previous = lastBefore(channels.speed, to - 1, regimeLimits.silentMostMs);
  const crank: Omit<Crank, "outcome"> = {
    number,
    from,
    to,
    unseen: attempt.unseen,
    ...volts.figures,
    speed,
    speedSpread:
      turning.length < 4
        ? null
        : { value: quantile(turning, 0.75) - quantile(turning, 0.25), samples: turning.length },
    dropOuts: firstTurn < 0 ? null : { value: zeros, samples: lastTurn - firstTurn + 1 },
    ...(stalled === null ? {} : { stalledVolts: stalled }),
    speedPerVolt:
      // Below a volt nothing is heard, let alone turned: such a voltage is no measure.
      speed === null || volts.figures.meanVolts === null || volts.figures.meanVolts.value < 1
        ? null
        : { value: round(speed.value / volts.figures.meanVolts.value, 2), samples: speed.samples },
    firstSpeedS:
      firstTurn < 0 || volts.sagFrom === null || fast > 1000
        ? null
        : { value: Math.max(0, ((all.times[firstTurn] ?? 0) - volts.sagFrom) / 1000), samples: 1 },
    pullDown,
    throttle:
      countedMedian(between(channels.throttle, from, to).values) ?? latestOf(channels.throttle, to, 5000),
    loop: latestOf(channels.loop, to, to - from + 2000),
    coolant: latestOf(channels.coolant, to, 600_000),
    intakeAir: latestOf(channels.intake, to, 600_000),
    fireS: ranS === null ? null : { value: (to - from) / 1000, samples: all.values.length },
    fireWithinS: ranS === null ? null : round((to - (previous?.t ?? from)) / 1000, 3),
    ranS: ranS === null ? null : round(ranS, 3),
    lengthS: round((to - from) / 1000, 3),
  };
  return { ...crank, outcome: outcomeOf(attempt, crank, { slowBelow, ...volts }) };
}

/**
 * Volts while it stood still between turning, or after it: the median, where they are flat and lower than while it
 * turned. A motor that is held draws the most current, and makes no ripple (common practice); a signal that is lost while
 * the starter turns on leaves the volts as they were.
 */
function stalledVolts(
  { from, to }: Attempt,
  speed: { readonly times: readonly number[]; readonly values: readonly number[] },
  candidates: readonly (Series | undefined)[],
  scale: number,
): Counted {
  const first = speed.values.findIndex((v) => v >= regimeLimits.turning);
  if (first < 0) return null;
  const turnsAt = (t: number): boolean | null => {
    const i = speed.times.findLastIndex((at) => at <= t);
    const [a, b] = [speed.values[i], speed.values[i + 1] ?? speed.values[i]];
    if (i < first || a === undefined || b === undefined) return null;
    const [x, y] = [a >= regimeLimits.turning, b >= regimeLimits.turning];
    return x === y ? x : null;
  };
  for (const series of candidates) {
    const { times, values } = between(series, from, to);
    const turning = values.filter((_, i) => turnsAt(times[i] ?? 0) === true);
    const standing = values.filter((_, i) => turnsAt(times[i] ?? 0) === false);
    if (turning.length < 2 || standing.length < crankLimits.stalledReadings) continue;
    const flat = quantile(standing, 0.9) - quantile(standing, 0.1) <= crankLimits.stalledRipple * scale;
    const low = quantile(turning, 0.5) - quantile(standing, 0.5) >= crankLimits.stalledBelow * scale;
    return flat && low ? { value: quantile(standing, 0.5), samples: standing.length } : null;
  }
  return null;
}

function latestOf(series: Series | undefined, t: number, withinMs: number): Counted {
  const last = lastBefore(series, t, withinMs);
  return last === null ? null : { value: last.value, samples: 1 };
}

interface VoltFigures {
  readonly figures: Pick<Crank, "restVolts" | "lowestVolts" | "meanVolts" | "voltsFrom">;
  /** First reading of the sag, milliseconds. */
  readonly sagFrom: number | null;
  /** Readings in the sag. */
  readonly sagged: number;
}

function voltFigures(attempt: Attempt, candidates: readonly (Series | undefined)[]): VoltFigures {
  const { from, to } = attempt;
  let best: VoltFigures = {
    figures: { restVolts: null, lowestVolts: null, meanVolts: null, voltsFrom: null },
    sagFrom: null,
    sagged: 0,
  };
  let most = 0;
  for (const series of candidates) {
    if (series === undefined) continue;
    const rest = restOf(attempt, series);
    // A slow bus tells of the crank late: one interval of grace.
    const grace = Math.min(
      regimeLimits.togetherMs,
      Math.max(200, interval(series, from - 10_000, to + 10_000)),
    );
    const late = between(series, from, to + grace);
    const inside = between(series, from, to);
    const level = rest?.value ?? Number.POSITIVE_INFINITY;
    const below = level - sagLimits.back * supplyScale(rest?.value ?? null);
    const sagged = late.values.filter((v) => v < below);
    const during = inside.values.filter((v) => v < below);
    const lowest =
      late.values.length === 0 ? null : { value: Math.min(...late.values), samples: late.values.length };
    const mean =
      countedMean(during) ?? (sagged.length > 0 ? { value: Math.min(...sagged), samples: 1 } : null);
    const first = late.values.findIndex((v) => v < below);
    // What was read in the crank itself counts first.
    const count = late.values.length * 100 + (rest?.samples ?? 0);
    if (count <= most) continue;
    most = count;
    best = {
      figures: { restVolts: rest, lowestVolts: lowest, meanVolts: mean, voltsFrom: series.channel },
      sagFrom: first < 0 || rest === null ? null : (late.times[first] ?? null),
      sagged: sagged.length,
    };
  }
  return best;
}

/**
 * Volts before the starter: of the last ten seconds with the key on. On a slow bus the last reading before a start
 * already belongs to it, so the earlier ones count where there are any.
 */
function restOf(attempt: Attempt, series: Series): Counted {
  const { from, unseen, restFrom } = attempt;
  if (restFrom === null) return null;
  const begin = Math.max(restFrom, from - crankLimits.restMs);
  const early = between(series, begin, from - crankLimits.restEndMs).values;
  if (early.length > 0) return countedMedian(early);
  return countedMedian(between(series, begin, unseen ? from : from - 1).values.slice(0, 1));
}

function pullDownOf(attempt: Attempt, channels: Channels): Counted {
  const { from, to } = attempt;
  const outside =
    lastBefore(channels.barometric, to, Number.POSITIVE_INFINITY)?.value ??
    countedMedian(between(channels.manifold, from - crankLimits.restMs, from - 1).values)?.value;
  if (outside === undefined || attempt.unseen) return null;
  // The first turns still fill the manifold, the last ones may already fire.
  const settled = to - from > 1500 ? from + 700 : from;
  const end = attempt.ranS === null ? to : Math.max(settled, to - 300);
  const { values } = between(channels.manifold, settled, end);
  const middle = countedMedian(values);
  return middle === null ? null : { value: outside - middle.value, samples: middle.samples };
}

function outcomeOf(
  attempt: Attempt,
  crank: Omit<Crank, "outcome">,
  volts: VoltFigures & { readonly slowBelow: number },
): Outcome {
  if (attempt.marked) return crank.lowestVolts === null ? "open" : "nothing-happened";
  if (attempt.ranS !== null) {
    if (attempt.ranS >= crankLimits.keptRunningS || attempt.ended === "shut-off") return "started";
    return attempt.ended === "end" || attempt.ended === "silent" ? "open" : "fired-and-died";
  }
  if (attempt.ended === "end") return "open";
  if (crank.speed !== null)
    return crank.speed.value < volts.slowBelow ? "turned-slowly" : "turned-and-did-not-fire";
  if (
    crank.pullDown !== null &&
    crank.pullDown.samples >= 2 &&
    crank.pullDown.value >= crankLimits.turningPullDown
  )
    return "turned-without-signal";
  const rest = crank.restVolts?.value ?? null;
  const lowest = crank.lowestVolts?.value ?? null;
  const scale = supplyScale(rest);
  const deep =
    lowest !== null &&
    (lowest < crankLimits.deepVolts * scale ||
      (rest !== null && rest - lowest >= crankLimits.deepSag * scale));
  return deep && volts.sagged >= 2 ? "no-turn" : "turned-without-signal";
}
