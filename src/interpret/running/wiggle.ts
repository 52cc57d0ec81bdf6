/**
 * A harness that is moved by hand: drop-outs, steps and dead moments of everything that is read fast, while it is moved and in
 * the minute before, and the chance that so many came by themselves. Each goes by readings up to its own time alone, so that
 * what is shown and heard live is what a replay finds.
 */
import type { ChannelStore, Series } from "../../../shared/channels.ts";
import type { MarkEvent } from "../../../shared/recording/format.ts";
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { regimeLimits } from "../folds/regimeLimits.ts";
import { ownSeries } from "../folds/windows.ts";
import { atLeastByChance } from "../maths/poisson.ts";
import { median } from "../maths/stats.ts";
import type { Wiggle, Window } from "../report/schema.ts";
import { wiggleSteps } from "../tables/wiggleSteps.ts";
import { wiggleWords } from "./wiggleWords.ts";

/** Times in milliseconds. Estimates where nothing else is said. */
export const wiggleLimits = {
  /** The time before reaches so far back, and tells nothing when it is shorter than the least. */
  beforeMs: 60_000,
  leastBeforeMs: 10_000,
  /** A person marks by hand, a moment late. */
  handMs: 500,
  /** A mark without an end is taken to last so long. */
  instantMs: 10_000,
  leastMs: 4000,
  /** Read at least so often a second, it is watched: a contact opens for tenths of a second. */
  perSecond: 2,
  /** What comes within this of one another is one and the same. */
  joinMs: 700,
  /** Nothing at all came for so long, and for so many of the usual pauses. */
  deadMs: 800,
  deadPauses: 6,
  /** A level is the middle of so many readings; a step must leave it by so many times their spread too. */
  levelReadings: 9,
  leastLevel: 5,
  spreads: 8,
  /** A value that stays so long is the new level; a speed that was a starter's must come back in it. */
  settleMs: 3000,
  /** So long it runs before what a starter moves may count. */
  ranMs: 5000,
  /** Told from this chance down, and from so many on; doubtful up to the other. */
  chance: 0.01,
  doubtful: 0.05,
  leastDrops: 3,
} as const;

export type WiggleDrop = Wiggle["drops"][number];
type Kind = WiggleDrop["kinds"][number];

interface Raw {
  readonly t: number;
  readonly kind: Kind;
  readonly channel: string;
}

const wiggling = /\bwiggl|\bjiggl|\bshak(?:e|en|ing)\b|\btapp(?:ed|ing)\b/i;

/** What a mark says was moved by hand. */
export const isWiggle = (label: string): boolean => wiggling.test(label);

/** Times and values of a series, those without an answer too. */
function readings({ times, values }: Series, { from, to }: Window): { t: number; v: number }[] {
  const found: { t: number; v: number }[] = [];
  for (let i = firstFrom(times, from); i < times.length; i++) {
    const t = times[i] ?? 0;
    if (t > to) break;
    found.push({ t, v: values[i] ?? Number.NaN });
  }
  return found;
}

function firstFrom(times: Float64Array, from: number): number {
  let [low, high] = [0, times.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((times[middle] ?? 0) < from) low = middle + 1;
    else high = middle;
  }
  return low;
}

function dropsOf({ channel, list }: Watched, ranSince: (t: number) => number): Raw[] {
  const raws: Raw[] = [];
  const step = wiggleSteps[channel];
  const { settleMs, spreads, levelReadings, leastLevel, ranMs } = wiggleLimits;
  let answered = false;
  let level: number[] = [];
  let out: number | null = null;
  for (const { t, v } of list) {
    if (Number.isNaN(v)) {
      if (answered) raws.push({ t, kind: "no-answer", channel });
      answered = false;
      continue;
    }
    answered = true;
    if (step === undefined) continue;
    if (step.running === true && t - ranSince(t) < ranMs) {
      level = [];
      out = null;
      continue;
    }
    if (level.length >= leastLevel) {
      const middle = median(level);
      const spread = 1.4826 * median(level.map((x) => Math.abs(x - middle)));
      if (Math.abs(v - middle) > Math.max(step.least, spreads * spread)) {
        if (out === null) raws.push({ t, kind: "step", channel });
        out ??= t;
        if (t - out <= settleMs) continue;
        level = [];
      }
    }
    out = null;
    level = [...level, v].slice(-levelReadings);
  }
  return raws;
}

/** Since when it runs, by the speeds read up to `t`; a drop-out of the speed does not end it, a stop does. Infinity: it does not. */
function runningSince(list: readonly { t: number; v: number }[]): (t: number) => number {
  const told = list.filter(({ v }) => !Number.isNaN(v));
  let i = 0;
  let since: number | null = null;
  let stopped: number | null = null;
  return (t) => {
    for (; i < told.length && (told[i]?.t ?? t) <= t; i++) {
      const { t: at = 0, v = 0 } = told[i] ?? {};
      if (v >= regimeLimits.running) {
        since ??= at;
        stopped = null;
      } else {
        stopped ??= at;
        if (at - stopped > wiggleLimits.settleMs || v >= regimeLimits.turning) since = null;
      }
    }
    return since ?? Number.POSITIVE_INFINITY;
  };
}

/** When the engine turned, by its speed: up to a while behind the last speed that was read. */
class Turned {
  readonly #times: readonly number[];

  constructor(list: readonly { t: number; v: number }[]) {
    this.#times = list.filter(({ v }) => v >= regimeLimits.turning).map(({ t }) => t);
  }

  at(t: number): boolean {
    return this.#times.some((turned) => turned <= t && t - turned <= wiggleLimits.settleMs);
  }

  seconds({ from, to }: Window): number {
    let sum = 0;
    let done = from;
    for (const t of this.#times) {
      const end = Math.min(to, t + wiggleLimits.settleMs);
      if (end > done) sum += end - Math.max(done, Math.min(t, end));
      done = Math.max(done, end);
    }
    return sum / 1000;
  }
}

/** A speed of zero behind one of a running engine, or between two of a cranking one. */
function zerosOf(list: readonly { t: number; v: number }[]): Raw[] {
  const told = list.filter(({ v }) => !Number.isNaN(v));
  return told.flatMap(({ t, v }, i): Raw[] => {
    const before = told[i - 1]?.v ?? 0;
    if (v >= regimeLimits.turning || before < regimeLimits.turning) return [];
    const end = t + wiggleLimits.settleMs;
    const comesBack = told.slice(i + 1).some((r) => r.t <= end && r.v >= regimeLimits.turning);
    return before >= regimeLimits.running || comesBack ? [{ t, kind: "zero", channel: "engine-speed" }] : [];
  });
}

/** Moments at which nothing came that is usually there. */
function deadOf(times: readonly number[]): Raw[] {
  const pauses = times.slice(1).map((t, i) => t - (times[i] ?? t));
  if (pauses.length < 10) return [];
  const least = Math.max(wiggleLimits.deadMs, wiggleLimits.deadPauses * median(pauses));
  return pauses.flatMap((pause, i): Raw[] =>
    pause >= least ? [{ t: times[i + 1] ?? 0, kind: "dead", channel: "" }] : [],
  );
}

function joined(raws: readonly Raw[]): WiggleDrop[] {
  const drops: { t: number; last: number; kinds: Set<Kind>; channels: Set<string> }[] = [];
  for (const { t, kind, channel } of [...raws].sort((a, b) => a.t - b.t)) {
    let open = drops.at(-1);
    if (open === undefined || t - open.last > wiggleLimits.joinMs) {
      open = { t, last: t, kinds: new Set(), channels: new Set() };
      drops.push(open);
    }
    open.last = t;
    open.kinds.add(kind);
    if (channel !== "") open.channels.add(channel);
  }
  return drops.map(({ t, kinds, channels }) => ({ t, kinds: [...kinds], channels: [...channels].sort() }));
}

export interface WiggleSpan {
  readonly markId: string;
  readonly label: string;
  readonly from: number;
  readonly to: number;
  /** The time before may begin here: behind what else was marked. */
  readonly notBefore: number;
}

interface Watched {
  readonly channel: string;
  readonly list: readonly { t: number; v: number }[];
  /** Readings while it was moved. */
  readonly here: number;
}

/** What came while it was moved, and before. `to` may be now. */
export function wiggleIn(channels: ChannelStore, span: WiggleSpan): Wiggle {
  const { handMs, beforeMs, perSecond, leastMs, leastBeforeMs } = wiggleLimits;
  const during: Window = { from: span.from - handMs, to: span.to };
  const earliest = Math.max(0, span.notBefore, during.from - beforeMs);
  const seconds = Math.max(0, (during.to - during.from) / 1000);
  const fast = channels.channels.flatMap((channel): Watched[] => {
    const series = ownSeries(channels, channel);
    if (series === undefined) return [];
    const list = readings(series, { from: earliest, to: during.to });
    const here = list.filter(({ t }) => t >= during.from).length;
    return here >= perSecond * seconds && here > 1 ? [{ channel, list, here }] : [];
  });
  const first = Math.min(during.from, ...fast.map(({ list }) => list[0]?.t ?? during.from));
  const spanS = (during.from - Math.max(earliest, first)) / 1000;
  // What was read seldom before would show fewer drop-outs for that alone.
  const steady = fast.filter(({ list, here }) => list.length - here >= (perSecond / 2) * spanS);
  const all = steady.length === 0 ? fast : steady;
  const times = [
    ...new Set(all.flatMap(({ list }) => list.filter(({ v }) => !Number.isNaN(v)).map(({ t }) => t))),
  ];
  const speed = ownSeries(channels, "engine-speed");
  const speeds = speed === undefined ? [] : readings(speed, { from: earliest, to: during.to });
  const drops = joined([
    ...all.flatMap((watched) => dropsOf(watched, runningSince(speeds))),
    ...(all.some(({ channel }) => channel === "engine-speed") ? zerosOf(speeds) : []),
    ...deadOf(times.sort((a, b) => a - b)),
  ]);
  // A standing engine shows no drop-out of its speed: only what was as now is the time before it.
  const turned = new Turned(speeds);
  const like = speeds.some(({ t, v }) => t >= during.from && v >= regimeLimits.turning);
  const window: Window = { from: Math.max(earliest, first), to: during.from };
  const turnedS = turned.seconds(window);
  const beforeS = steady.length === 0 ? 0 : like ? turnedS : Math.max(0, spanS - turnedS);
  const now = drops.filter(({ t }) => t >= during.from);
  const before = beforeS === 0 ? 0 : drops.filter(({ t }) => t < during.from && turned.at(t) === like).length;
  const comparable = beforeS * 1000 >= leastBeforeMs;
  const chance = comparable
    ? atLeastByChance({ count: now.length, time: seconds }, { count: before, time: beforeS })
    : null;
  const readingsHere = all.reduce(
    (sum, { list }) => sum + list.filter(({ t }) => t >= during.from).length,
    0,
  );
  const wiggle: Omit<Wiggle, "words"> = {
    ...{ markId: span.markId, label: span.label, during, drops: now, before },
    seconds: round(seconds, 1),
    beforeS: round(beforeS, 1),
    chance: chance === null ? null : round(chance, 6),
    watched: all.map(({ channel }) => channel).sort(),
    rate: seconds === 0 ? 0 : round(readingsHere / seconds, 1),
    says: "cannot-tell",
  };
  const says =
    all.length === 0 || seconds * 1000 < leastMs ? "cannot-tell" : saysOf(now.length, before, chance);
  return { ...wiggle, says, words: wiggleWords({ ...wiggle, says }) };
}

function saysOf(count: number, before: number, chance: number | null): Wiggle["says"] {
  if (count === 0) return "nothing";
  if (chance === null) return "cannot-tell";
  if (count >= wiggleLimits.leastDrops && chance <= wiggleLimits.chance) return "comes-with-it";
  return chance <= wiggleLimits.doubtful || before === 0 ? "perhaps" : "as-before";
}

/** The stretch that a mark of a wiggle means, as of now; null where it is none. */
export function wiggleSpan(mark: MarkEvent, marks: readonly MarkEvent[], now: number): WiggleSpan | null {
  if (!isWiggle(mark.label) || mark.at > now) return null;
  const to = Math.min(now, mark.until ?? mark.at + wiggleLimits.instantMs);
  const ends = marks
    .filter((m) => m.id !== mark.id && m.at < mark.at)
    .map((m) => Math.min(mark.at, (m.until ?? m.at) + (isWiggle(m.label) ? wiggleLimits.settleMs : 0)));
  return { markId: mark.id, label: mark.label, from: mark.at, to, notBefore: Math.max(0, ...ends) };
}

/** All of them, each worked out once and kept while mark and time stay. */
export class Wiggles {
  readonly #kept = new Map<string, { readonly made: string; readonly found: Wiggle }>();

  of({ source, until }: Pick<Context, "source" | "until">): Wiggle[] {
    const { marks, channels } = source;
    return marks.flatMap((mark) => {
      const span = wiggleSpan(mark, marks, until);
      if (span === null) return [];
      const made = JSON.stringify(span);
      const kept = this.#kept.get(mark.id);
      if (kept?.made === made) return [kept.found];
      const found = wiggleIn(channels, span);
      this.#kept.set(mark.id, { made, found });
      return [found];
    });
  }
}
