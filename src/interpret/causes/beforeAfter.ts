/**
 * Two recordings, or two stretches, side by side on the same regimes and the same crank zero. "Repaired" means that
 * the earlier signs are gone under the same conditions; else it says which conditions differ.
 */
import type { ChannelStore, Series } from "../../../shared/channels.ts";
import { regimeWords, type Regime } from "../../../shared/ranges.ts";
import { bootstrapDifference, effectiveNumber } from "../maths/bootstrap.ts";
import { round } from "../folds/figureReadings.ts";
import { neighbourResiduals } from "../running/roughness.ts";
import type { Crank, Findings, Sign, Window } from "../report/schema.ts";
import { mean, median, robustScale } from "../maths/stats.ts";
import { hasLong, seriesNamed } from "../mixture/correction.ts";
import { between, ownSeries } from "../folds/windows.ts";
import { regimeLimits } from "../folds/regimeLimits.ts";
import {
  beforeAfterVersion,
  type BeforeAfter,
  type BeforeAfterVerdict,
  type ComparedRow,
  type Condition,
  type EarlierSign,
  type Measured,
} from "./beforeAfterSchema.ts";
import { signRow } from "../tables/signs.ts";
import { compared, crankCompared, judgedConditions, type Compared } from "./tables/compared.ts";

export interface Side {
  /** As the note calls it: a file name, or "before". */
  readonly name: string;
  readonly channels: ChannelStore;
  readonly findings: Findings;
  /** Only this stretch; the whole recording when left out. Milliseconds since its start. */
  readonly window?: Window;
}

/** A window of more readings than this is cut to the latest of them. */
const mostReadings = 3000;
const leastReadings = 5;

export function beforeAndAfter(before: Side, after: Side): BeforeAfter {
  const conditions = judgedConditions.flatMap((c) => conditionOf(c, before, after) ?? []);
  const earlier = earlierSigns(before, after);
  return {
    version: beforeAfterVersion,
    before: before.name,
    after: after.name,
    rows: [...crankRows(before, after), ...regimeRows(before, after)],
    conditions,
    earlier,
    ...codesOf(before, after),
    ...verdictOf(earlier, conditions),
  };
}

/** Remembered, they decide nothing; who compares wants to see them all the same. */
function codesOf(before: Side, after: Side): Pick<BeforeAfter, "codes"> {
  const of = ({ findings }: Side): string[] => [...new Set(findings.codes.map(({ code }) => code))].sort();
  const codes = { before: of(before), after: of(after) };
  return codes.before.length + codes.after.length === 0 ? {} : { codes };
}

function inside(side: Side, from: number, to: number): Window | null {
  const w = side.window ?? { from: 0, to: Number.POSITIVE_INFINITY };
  const cut = { from: Math.max(from, w.from), to: Math.min(to, w.to) };
  return cut.to > cut.from ? cut : null;
}

const cranksOf = (side: Side): Crank[] =>
  side.findings.cranks.filter((c) => !c.unseen && inside(side, c.from, c.to) !== null);

function windowsOf(side: Side, regime: Regime): Window[] {
  return side.findings.regimes.flatMap((r) =>
    r.regime === regime ? (inside(side, r.from, r.to) ?? []) : [],
  );
}

interface Taken {
  readonly values: number[];
  /** Deviation of each reading from its neighbours, % of the mean: of engine speed. */
  readonly residuals: number[];
}

function take(series: Series | undefined, windows: readonly Window[], keep: (v: number) => boolean): Taken {
  const values: number[] = [];
  const residuals: number[] = [];
  for (const { from, to } of windows) {
    const found = between(series, from, to);
    const kept = found.values.flatMap((v, i) => (keep(v) ? [{ v, t: found.times[i] ?? 0 }] : []));
    const only = kept.map((k) => k.v);
    values.push(...only);
    const middle = mean(only);
    if (middle > 0) {
      const left = neighbourResiduals(
        kept.map((k) => k.t),
        only,
      );
      residuals.push(...left.map((r) => (100 * r) / middle));
    }
  }
  return { values: values.slice(-mostReadings), residuals: residuals.slice(-mostReadings) };
}

const statistics = {
  level: mean,
  middle: median,
  roughness: robustScale,
} as const satisfies Readonly<Record<Compared["of"], (values: ArrayLike<number>) => number>>;

function row(what: Compared, regime: string, a: Taken, b: Taken): ComparedRow | null {
  const rough = what.of === "roughness";
  const before = rough ? a.residuals : a.values;
  const after = rough ? b.residuals : b.values;
  if (before.length === 0 || after.length === 0) return null;
  const statistic = statistics[what.of];
  const measured = (values: readonly number[]): Measured => ({
    value: round(statistic(values), 3),
    samples: values.length,
    effective: round(effectiveNumber(rough ? values.map(Math.abs) : values), 1),
  });
  const sides = { before: measured(before), after: measured(after) };
  const base = { what: what.words, regime, unit: what.unit, ...sides };
  const difference = round(sides.after.value - sides.before.value, 3);
  const few = Math.min(before.length, after.length) < leastReadings;
  if (few || Math.min(sides.before.effective, sides.after.effective) < 3) {
    return { ...base, difference, interval: null, says: "cannot-tell" };
  }
  const found = bootstrapDifference(Float64Array.from(after), Float64Array.from(before), statistic);
  const interval = { low: round(found.low, 3), high: round(found.high, 3), level: found.level };
  const says = found.low > 0 ? "higher" : found.high < 0 ? "lower" : "no-change-seen";
  return { ...base, difference, interval, says };
}

/**
 * Cranks laid on their common zero and cut to the shortest, so that the same part of each is compared. The speed is the
 * figure that stands in the crank's own row: the middle of what was read while it turned, over all of it.
 */
function crankRows(before: Side, after: Side): ComparedRow[] {
  const a = cranksOf(before);
  const b = cranksOf(after);
  if (a.length === 0 || b.length === 0) return [];
  const length = Math.min(...[...a, ...b].map((c) => c.to - c.from));
  const rows = crankCompared.flatMap((what) => {
    const whole = what.of === "middle";
    const windows = (cranks: readonly Crank[]): Window[] =>
      cranks.map(({ from, to }) => ({ from, to: whole ? to : from + length }));
    const keep = (v: number): boolean => !whole || (v >= regimeLimits.turning && v < regimeLimits.running);
    const x = take(ownSeries(before.channels, what.channel), windows(a), keep);
    const y = take(ownSeries(after.channels, what.channel), windows(b), keep);
    return row(what, "cranking", x, y) ?? [];
  });
  const fire = fireRow(a, b);
  return fire === null ? rows : [...rows, fire];
}

/** Time to fire has one value a crank: its uncertainty is how far apart readings were, and the spread of cranks. */
function fireRow(a: readonly Crank[], b: readonly Crank[]): ComparedRow | null {
  const times = (cranks: readonly Crank[]): number[] => cranks.flatMap((c) => c.fireS?.value ?? []);
  const within = (cranks: readonly Crank[]): number => Math.max(0, ...cranks.map((c) => c.fireWithinS ?? 0));
  const x = times(a);
  const y = times(b);
  if (x.length === 0 || y.length === 0) return null;
  const spread = (v: readonly number[]): number => (Math.max(...v) - Math.min(...v)) / 2;
  const difference = round(median(y) - median(x), 3);
  const half = within(a) + within(b) + spread(x) + spread(y);
  const interval = { low: round(difference - half, 3), high: round(difference + half, 3), level: 0.95 };
  const measured = (v: readonly number[]): Measured => ({
    value: round(median(v), 3),
    samples: v.length,
    effective: v.length,
  });
  const says = interval.low > 0 ? "higher" : interval.high < 0 ? "lower" : "no-change-seen";
  return {
    what: "time to fire",
    regime: "cranking",
    unit: "s",
    before: measured(x),
    after: measured(y),
    difference,
    interval,
    says,
  };
}

const steadyRegimes = ["idle-cold", "idle-warm", "idle", "held", "cruise"] as const;

function regimeRows(before: Side, after: Side): ComparedRow[] {
  return steadyRegimes.flatMap((regime) => {
    const a = windowsOf(before, regime);
    const b = windowsOf(after, regime);
    if (a.length === 0 || b.length === 0) return [];
    return compared.flatMap((what) => {
      // A short trim alone on one side is not the sum of both on the other.
      if (hasLong(before.channels, what.channel) !== hasLong(after.channels, what.channel)) return [];
      const all = (): boolean => true;
      const x = take(seriesNamed(before.channels, what.channel, Number.POSITIVE_INFINITY), a, all);
      const y = take(seriesNamed(after.channels, what.channel, Number.POSITIVE_INFINITY), b, all);
      return row(what, regimeWords[regime], x, y) ?? [];
    });
  });
}

function conditionOf(c: (typeof judgedConditions)[number], before: Side, after: Side): Condition | null {
  const figure = (side: Side): number | null => {
    if (c.of === "cranking") {
      const found = cranksOf(side).flatMap((k) => k[c.figure]?.value ?? []);
      return found.length === 0 ? null : median(found);
    }
    const windows = steadyRegimes.flatMap((r) => (r === "idle-cold" ? [] : windowsOf(side, r)));
    const { values } = take(ownSeries(side.channels, c.channel), windows, () => true);
    return values.length === 0 ? null : median(values);
  };
  const a = figure(before);
  const b = figure(after);
  if (a === null && b === null) return null;
  const alike = a !== null && b !== null && Math.abs(a - b) <= c.within;
  const text = (v: number | null): string => (v === null ? "not seen" : `${round(v, c.digits)} ${c.unit}`);
  const words = `${c.what}: ${text(a)} before, ${text(b)} after${alike ? "" : ", not alike"}`;
  return { what: c.what, of: c.of, before: a, after: b, unit: c.unit, alike, words };
}

/** Signs that hang on memory rather than on the engine do not tell whether it is repaired. */
const remembered = /\.codes$|^power\.memory-cleared$|^mixture\.freeze-frame$|^link\.|^crank\.attempts$/;

function counts(side: Side, sign: Sign): boolean {
  if (remembered.test(sign.id)) return false;
  return side.window === undefined || sign.windows.some((w) => inside(side, w.from, w.to) !== null);
}

function earlierSigns(before: Side, after: Side): EarlierSign[] {
  const later = after.findings.signs.filter((s) => counts(after, s) || s.windows.length === 0);
  const signs = before.findings.signs
    .filter((s) => s.verdict === "outside" && counts(before, s))
    .map((sign): EarlierSign => {
      const base = { key: sign.key, title: titleOf(sign) };
      // By key: the same sign of another sensor, or at another speed, is another one.
      const same = later.find((s) => s.key === sign.key);
      if (same !== undefined) return { ...base, ...becameOf(sign, same) };
      return { ...base, ...unrepeated(sign, after, later) };
    })
    .map((e) => ({ ...e, words: `${e.title}: ${e.words}` }));
  return [...signs, ...startSign(before, after)];
}

type Became = Pick<EarlierSign, "now" | "words">;

const gone: Became = { now: "gone", words: "gone" };
const unlooked: Became = { now: "not-seen-again", words: "not looked at again" };

/** What the same sign, or the one that answers for it, says afterwards. */
function becameOf(sign: Sign, settled: Sign): Became {
  if (settled.verdict === "cannot-tell") return unlooked;
  if (settled.verdict === "within") return gone;
  const still = "still-there";
  if (sign.cylinder !== undefined && settled.cylinder !== undefined && sign.cylinder !== settled.cylinder)
    return { now: still, words: `now cylinder ${settled.cylinder}` };
  const turned = (a: Sign, b: Sign): boolean =>
    (a.side !== undefined && b.side !== undefined && a.side !== b.side) ||
    [a.id, b.id].sort().join() === "mixture.lean,mixture.rich";
  return {
    now: still,
    words: turned(sign, settled) ? "still outside, now to the other side" : "still there",
  };
}

/** A sign that is told only while it is there is gone when what would have shown it was looked at. */
function unrepeated(sign: Sign, after: Side, later: readonly Sign[]): Became {
  const answer = signRow(sign.id)?.again;
  if (answer === undefined) return unlooked;
  if (answer.by === "crank") {
    const cranks = cranksOf(after);
    const shown = answer.all ? cranks.every(answer.shows) : cranks.some(answer.shows);
    return cranks.length > 0 && shown ? gone : unlooked;
  }
  const { ids, how, of } = answer;
  const place = placeOf(sign);
  const found = later.filter(
    (s) =>
      ids.some((id) => id === s.id) &&
      (of === "any" || s.bank === sign.bank) &&
      (of !== "place" || placeOf(s) === place),
  );
  const told = found.find((s) => s.verdict !== "cannot-tell");
  if (told === undefined) return unlooked;
  return how === "judged" ? gone : becameOf(sign, told);
}

/** Where it was driven: what stands in the key behind sign and bank. */
const placeOf = (sign: Sign): string => sign.key.split("/").slice(2).join("/");

/** No attempt started it before: then one must start it after. */
function startSign(before: Side, after: Side): EarlierSign[] {
  const ended = (side: Side): Crank[] => cranksOf(side).filter((c) => c.outcome !== "open");
  const starts = (cranks: readonly Crank[]): boolean => cranks.some((c) => c.outcome === "started");
  const a = ended(before);
  const b = ended(after);
  if (a.length === 0 || starts(a)) return [];
  const base = { key: "crank.start", title: "The engine did not start" };
  if (b.length === 0) return [{ ...base, now: "not-seen-again", words: "Starting: not tried again" }];
  return starts(b)
    ? [{ ...base, now: "gone", words: "The engine did not start: it starts" }]
    : [{ ...base, now: "still-there", words: "The engine does not start: still there" }];
}

function titleOf(sign: Sign): string {
  const bank = sign.bank === undefined ? "" : `, bank ${sign.bank}`;
  const cylinder = sign.cylinder === undefined ? "" : `, cylinder ${sign.cylinder}`;
  return `${sign.title}${bank}${cylinder}`;
}

const whileCranking = (key: string): boolean => /^(?:crank|power|counter)\./.test(key);

function verdictOf(
  earlier: readonly EarlierSign[],
  conditions: readonly Condition[],
): { verdict: BeforeAfterVerdict; words: string } {
  if (earlier.length === 0) {
    return {
      verdict: "nothing-before",
      words: "Nothing was outside its range before: nothing to be repaired was seen.",
    };
  }
  const still = earlier.filter((e) => e.now === "still-there");
  if (still.length > 0) {
    return { verdict: "still-there", words: `Not repaired: ${still.map((e) => e.words).join("; ")}.` };
  }
  const unseen = earlier.filter((e) => e.now === "not-seen-again").map((e) => e.words);
  const kinds = new Set(earlier.map((e) => (whileCranking(e.key) ? "cranking" : "running")));
  const unlike = conditions.filter((c) => kinds.has(c.of) && !c.alike).map((c) => c.words);
  if (unseen.length === 0 && unlike.length === 0) {
    const gone = earlier.map((e) => e.title).join("; ");
    return {
      verdict: "repaired",
      words: `Repaired: the earlier signs are gone under the same conditions (${gone}).`,
    };
  }
  const reasons = [...unseen, ...unlike].join("; ");
  const lead = unlike.length > 0 ? "Not shown: conditions differ" : "Not shown";
  return { verdict: "not-shown", words: `${lead} (${reasons}).` };
}
