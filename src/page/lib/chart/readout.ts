/** What a channel read at a time: the real reading before it, its age, how often readings come. */
import type { ChannelStore, Series } from "../../../../shared/channels.ts";
import type { LinkEvent } from "../../../../shared/recording/format.ts";

export interface Readout {
  /** Value in the table unit; NaN when that reading was asked for and not answered. */
  readonly value: number;
  readonly t: number;
  readonly ageMs: number;
  /** Answered readings a second just before, 0 when fewer than two. */
  readonly rate: number;
  /** It is not asked any more, or not for now: what it said then is not what it would say. */
  readonly stale: boolean;
}

/** Several of its own intervals without an answer, within what a slow bus takes and what a person would wait for. */
const staleIntervals = 5;
const staleLimits = { leastMs: 3000, mostMs: 60_000 } as const;

function isStale(ageMs: number, rate: number): boolean {
  const { leastMs, mostMs } = staleLimits;
  const after = rate > 0 ? Math.min(mostMs, Math.max(leastMs, (staleIntervals * 1000) / rate)) : mostMs;
  return ageMs > after;
}

const rateWindowMs = 10_000;
/** Readings that are looked at; enough to be steady, few enough to be quick. */
const rateReadings = 24;

/** Null when nothing was read until then. */
export function readoutAt(series: Series, t: number): Readout | null {
  const i = series.indexAt(t);
  if (i < 0) return null;
  const at = series.times[i] ?? 0;
  const rate = rateBefore(series, i, t);
  const stale = isStale(t - at, rate);
  return { value: series.values[i] ?? Number.NaN, t: at, ageMs: t - at, rate, stale };
}

/** What a recording tells of its readings and of its line. */
interface Heard {
  readonly channels: ChannelStore;
  readonly links: readonly LinkEvent[];
}

/**
 * As `readoutAt`, but for the question that was in the air when the line was closed: that one was broken off, and is no
 * silence of the vehicle. It is the last one of the recording, as questions go out one by one.
 */
export function heardAt({ channels, links }: Heard, series: Series, t: number): Readout | null {
  const readout = readoutAt(series, t);
  if (readout === null || !Number.isNaN(readout.value)) return readout;
  const last = links.at(-1);
  const broken =
    last?.state === "closed" &&
    last.t >= readout.t &&
    readout.t === series.lastTime &&
    channels.all().every((other) => other.lastTime <= readout.t);
  if (!broken) return readout;
  const before = readoutAt(series, readout.t - 1e-6);
  return before === null ? null : { ...before, ageMs: t - before.t };
}

/** From the spacing of the last answered readings: a count in a window would jump with each window's edge. */
function rateBefore({ times, values }: Series, index: number, t: number): number {
  let newest = Number.NaN;
  let oldest = Number.NaN;
  let found = 0;
  for (let i = index; i >= 0 && found < rateReadings; i--) {
    const at = times[i] ?? 0;
    if (found >= 2 && t - at > rateWindowMs) break;
    if (Number.isNaN(values[i] ?? Number.NaN)) continue;
    if (found === 0) newest = at;
    oldest = at;
    found += 1;
  }
  return found < 2 || newest <= oldest ? 0 : ((found - 1) * 1000) / (newest - oldest);
}
