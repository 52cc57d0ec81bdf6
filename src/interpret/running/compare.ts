/** A marked interval against the time around it. */
import type { Series } from "../../../shared/channels.ts";
import type { MarkEvent } from "../../../shared/recording/format.ts";
import { bootstrapDifference, effectiveNumber } from "../maths/bootstrap.ts";
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { neighbourResiduals } from "./roughness.ts";
import type { Comparison, Window } from "../report/schema.ts";
import { mean, robustScale } from "../maths/stats.ts";
import { seriesNamed } from "../mixture/correction.ts";
import { between } from "../folds/windows.ts";

export const compareLimits = {
  /** The time around reaches this far to each side, at least, and as far as the interval is long; milliseconds. */
  leastAroundMs: 5000,
  mostAroundMs: 60_000,
  leastReadings: 5,
} as const;

const compared: readonly { channel: string; unit: string; words: string }[] = [
  { channel: "engine-speed", unit: "rpm", words: "engine speed" },
  { channel: "manifold", unit: "kPa", words: "manifold pressure" },
  { channel: "trim-short-b1", unit: "%", words: "STFT, bank 1" },
  { channel: "trim-short-b2", unit: "%", words: "STFT, bank 2" },
  { channel: "correction-b1", unit: "%", words: "fuel trim (STFT and LTFT together), bank 1" },
  { channel: "correction-b2", unit: "%", words: "fuel trim (STFT and LTFT together), bank 2" },
  { channel: "module-voltage", unit: "V", words: "module voltage" },
  { channel: "oxygen-b1s1", unit: "V", words: "oxygen sensor, bank 1" },
];

/** The interval that a mark spans, and the time around it. */
export interface MarkWindows {
  readonly during: Window;
  readonly around: readonly Window[];
}

/** The interval and the time around it, as far as no other marked interval lies there. */
export function windowsOf(
  mark: MarkEvent,
  marks: readonly MarkEvent[],
  context: Pick<Context, "until" | "ended">,
): MarkWindows | null {
  const { until, ended } = context;
  const from = mark.at;
  const to = Math.min(mark.until ?? mark.at, until);
  if (to - from < 1000) return null;
  const length = Math.min(compareLimits.mostAroundMs, Math.max(compareLimits.leastAroundMs, to - from));
  const others = marks.filter((m) => m.id !== mark.id && m.until !== undefined);
  let before = Math.max(0, from - length);
  let after = ended ? Math.min(until, to + length) : afterSoFar(to, length, until);
  if (!ended && (mark.until ?? from) > until) return null;
  for (const other of others) {
    const end = other.until ?? other.at;
    if (end <= from && end > before) before = end;
    if (other.at >= to && other.at < after) after = other.at;
  }
  const around = [
    { from: before, to: from },
    { from: to, to: after },
  ].filter((w) => w.to - w.from >= 500);
  return around.length === 0 ? null : { during: { from, to }, around };
}

/** While it is live the time after grows in few steps, so that the comparison is not made anew at every look. */
function afterSoFar(to: number, length: number, until: number): number {
  for (let share = 1; length * share >= compareLimits.leastAroundMs; share /= 2)
    if (until >= to + length * share) return to + length * share;
  return to;
}

export function pick(series: Series, windows: readonly Window[]): { values: number[]; residuals: number[] } {
  const values: number[] = [];
  const residuals: number[] = [];
  for (const { from, to } of windows) {
    // The reading on a border belongs to the earlier window.
    const inside = between(series, from + 1e-6, to);
    values.push(...inside.values);
    const middle = mean(inside.values);
    if (middle > 0)
      residuals.push(...neighbourResiduals(inside.times, inside.values).map((r) => (100 * r) / middle));
  }
  return { values, residuals };
}

/** Readings at the edges of an interval still belong to what was before: the person marks by hand. */
export const edgeMs = 500;

export class Comparisons {
  readonly #kept = new Map<string, { readonly made: string; readonly list: Comparison[] }>();

  /** Every marked interval that lies before `until`; worked out once and kept while mark and time stay. */
  of(context: Context): Comparison[] {
    const marks = context.source.marks.filter((m) => m.until !== undefined);
    const list: Comparison[] = [];
    for (const mark of marks) {
      const windows = windowsOf(mark, marks, context);
      if (windows === null) continue;
      const made = JSON.stringify([mark.label, windows]);
      const kept = this.#kept.get(mark.id);
      if (kept?.made === made) {
        list.push(...kept.list);
        continue;
      }
      const fresh = compareMark(mark, windows, context);
      this.#kept.set(mark.id, { made, list: fresh });
      list.push(...fresh);
    }
    return list;
  }
}

function compareMark(mark: MarkEvent, windows: MarkWindows, context: Context): Comparison[] {
  const list: Comparison[] = [];
  const trimmed = [
    {
      from: windows.during.from + Math.min(edgeMs, (windows.during.to - windows.during.from) / 4),
      to: windows.during.to,
    },
  ];
  const until = Math.max(windows.during.to, ...windows.around.map((w) => w.to));
  for (const { channel, unit, words } of compared) {
    const series = seriesNamed(context.source.channels, channel, until);
    if (series === undefined) continue;
    const during = pick(series, trimmed);
    const around = pick(series, windows.around);
    if (during.values.length === 0 && around.values.length === 0) continue;
    const base = { mark, windows, channel, words };
    list.push(compareValues({ ...base, of: "level", unit }, during.values, around.values));
    if (channel === "engine-speed")
      list.push(compareValues({ ...base, of: "roughness", unit: "%" }, during.residuals, around.residuals));
  }
  return list;
}

interface What {
  readonly mark: MarkEvent;
  readonly windows: MarkWindows;
  readonly channel: string;
  readonly words: string;
  readonly of: Comparison["of"];
  readonly unit: string;
}

function compareValues(what: What, during: readonly number[], around: readonly number[]): Comparison {
  const { mark, windows, channel, unit } = what;
  const rough = what.of === "roughness";
  const statistic = (v: ArrayLike<number>): number => (rough ? robustScale(v) : mean(v));
  const seconds = (windows.during.to - windows.during.from) / 1000;
  const side = (values: readonly number[]): Comparison["before"] => ({
    value: values.length === 0 ? 0 : round(statistic(values), 3),
    samples: values.length,
    effective: round(effectiveNumber(rough ? values.map(Math.abs) : values), 1),
  });
  const few = Math.min(during.length, around.length) < compareLimits.leastReadings;
  const found = few
    ? { difference: 0, low: 0, high: 0, level: 0.95 }
    : bootstrapDifference(Float64Array.from(during), Float64Array.from(around), statistic);
  const before = side(around);
  const now = side(during);
  // An interval from fewer than four independent readings is too narrow to be believed.
  const unsure = few || Math.min(before.effective, now.effective) < 3;
  const says = unsure
    ? "cannot-tell"
    : found.low > 0
      ? "higher"
      : found.high < 0
        ? "lower"
        : "no-change-seen";
  const result: Omit<Comparison, "words"> = {
    markId: mark.id,
    label: mark.label,
    during: windows.during,
    around: [...windows.around],
    channel,
    of: what.of,
    unit,
    before,
    mean: now,
    rate: seconds > 0 ? round(during.length / seconds, 2) : 0,
    difference: round(found.difference, 3),
    interval: { low: round(found.low, 3), high: round(found.high, 3), level: found.level },
    says,
  };
  return { ...result, words: sentence(result, rough ? "roughness of engine speed" : what.words) };
}

function sentence(c: Omit<Comparison, "words">, what: string): string {
  const { before, mean: now, difference, interval } = c;
  const counts = `${now.samples} readings during, ${before.samples} around`;
  if (c.says === "cannot-tell") return `${what}: cannot tell (${counts}).`;
  const digits = c.unit === "V" || (c.of === "roughness" && Math.abs(difference) < 10) ? 2 : 1;
  const span = `${interval.low.toFixed(digits)} to ${interval.high.toFixed(digits)} ${c.unit}`;
  const change = c.says === "no-change-seen" ? "no change seen" : c.says;
  return `${what}: ${change}, ${before.value.toFixed(digits)} around, ${now.value.toFixed(digits)} during, difference ${difference.toFixed(digits)} (${span}, 95 %; ${counts}).`;
}
