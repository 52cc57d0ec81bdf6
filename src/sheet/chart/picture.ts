/** What a lane shows, worked out from samples and ranges, for the page and the note alike; drawing it is theirs. Pure. */
import type { Series } from "../../../shared/channels.ts";
import type { Regime } from "../../../shared/ranges.ts";
import { channelInfo } from "../../../shared/decode.ts";
import { shown, type UnitId, type UnitSystem } from "../../../shared/units.ts";
import { outsideOf, type Band, type Outside } from "./outside.ts";
import { reduce, type Points } from "./reduce.ts";
import { valueAxis, type ValueAxis } from "./ticks.ts";
import type { SignBand } from "./signBands.ts";
import type { Stretch } from "./stretch.ts";

export type { Band };

export interface RegimeSpan {
  readonly from: number;
  readonly to: number;
  readonly regime: Regime;
}

/** What is plausible for a channel in a regime; null on one side is open there. */
export interface Plausible {
  channel(
    channel: string,
    regime: Regime,
  ): { readonly low: number | null; readonly high: number | null } | null;
}

export interface TraceSource {
  readonly channel: string;
  readonly series: Series;
  readonly unit: UnitId;
  /** Which of the palette's trace colours. */
  readonly colour: number;
  /** Words, bits and codes have nothing between one value and the next. */
  readonly stepped: boolean;
  /** The readings alone, with nothing drawn between them. */
  readonly bare?: boolean;
  /** Where the person who defined the channel expects it. */
  readonly plausible?: { readonly low: number; readonly high: number } | undefined;
  /** It is of another recording, laid under this one, and its times are moved by so much, milliseconds. */
  readonly under?: { readonly by: number };
}

export interface Trace {
  readonly points: Points;
  readonly colour: number;
  readonly stepped: boolean;
  readonly bare: boolean;
  /** It is of another recording that is laid under this one. */
  readonly under: boolean;
  /** Indices of points that get a dot: all where they stand far apart, else those that no line reaches. */
  readonly dots: readonly number[];
  /** Readings beyond their range, thinned out. */
  readonly outside: readonly Outside[];
}

export interface LanePicture {
  readonly stretch: Stretch;
  readonly width: number;
  readonly height: number;
  readonly axisWidth: number;
  readonly axis: ValueAxis;
  /** Texts of the axis ticks; empty for words and codes. */
  readonly tickTexts: readonly string[];
  readonly timeTicks: readonly number[];
  readonly traces: readonly Trace[];
  readonly bands: readonly Band[];
}

export interface PictureInput {
  readonly sources: readonly TraceSource[];
  readonly spans: readonly RegimeSpan[];
  readonly ranges: Plausible;
  /** Ranges that were worked out for what is seen, in order of time: they take the place of the general ones. */
  readonly signs?: readonly SignBand[];
  readonly system: UnitSystem;
  readonly stretch: Stretch;
  readonly width: number;
  readonly height: number;
  readonly axisWidth: number;
  readonly timeTicks: readonly number[];
  /** Values, in shown units, that the axis holds as well: those of the chart beside it. */
  readonly also?: readonly number[];
}

/** An axis never zooms in further than this on a steady value; in shown units. */
const leastSpans: Partial<Record<UnitId, number>> = {
  rpm: 200,
  V: 1,
  "%": 10,
  "°C": 10,
  kPa: 10,
  "kPa fuel": 50,
  "g/s": 2,
  "°": 10,
  "km/h": 20,
  lambda: 0.1,
};

const wordUnits: ReadonlySet<UnitId> = new Set(["state", "bits", "code"]);

export function isWordUnit(unit: UnitId): boolean {
  return wordUnits.has(unit);
}

const topRoom = 14;

export function lanePicture(input: PictureInput): LanePicture {
  const { sources, system, stretch, width, height } = input;
  const columns = Math.max(1, Math.round(width));
  const allBands = sources.map((source) => bandsOf(source, input));
  const traces = sources.map((source, i) =>
    traceOf(source, { stretch, columns, system, bands: allBands[i] ?? [] }),
  );
  const unit = sources[0]?.unit ?? "ratio";
  const bands = allBands[0] ?? [];
  const axis = axisOf(traces, bands, unit, {
    system,
    height,
    also: [...(input.also ?? []), ...aroundZero(sources)],
  });
  return {
    stretch,
    width,
    height,
    axisWidth: input.axisWidth,
    axis,
    tickTexts: isWordUnit(unit) ? [] : axis.ticks.map((tick) => tickText(tick, axis.digits)),
    timeTicks: input.timeTicks,
    traces,
    bands,
  };
}

function tickText(tick: number, digits: number): string {
  return tick.toFixed(digits).replace(/^-/, "−");
}

interface TraceInput {
  readonly stretch: Stretch;
  readonly columns: number;
  readonly system: UnitSystem;
  readonly bands: readonly Band[];
}

function traceOf(source: TraceSource, { stretch, columns, system, bands }: TraceInput): Trace {
  const { series, unit, colour, stepped, under, bare = false } = source;
  const by = under?.by ?? 0;
  const found = reduce(series, { from: stretch.from - by, to: stretch.to - by }, columns);
  const points = inShownUnits(by === 0 ? found : moved(found, by), unit, system);
  // The other recording's regimes are its own: its traces are not judged here.
  const outside = under === undefined ? outsideOf(points, bands, { stretch, columns }) : [];
  return {
    points,
    colour,
    stepped,
    bare,
    under: under !== undefined,
    dots: dotsOf(points, columns, bare),
    outside,
  };
}

function moved(points: Points, by: number): Points {
  const t: number[] = [];
  for (const time of points.t) {
    // Rounding must not make two times one.
    const last = t.at(-1) ?? Number.NEGATIVE_INFINITY;
    t.push(Math.max(time + by, last + 1e-5));
  }
  return { ...points, t, missed: points.missed.map((time) => time + by) };
}

function inShownUnits(points: Points, unit: UnitId, system: UnitSystem): Points {
  if (system === "metric") return points;
  const convert = (value: number): number => shown(value, unit, system).value;
  return {
    ...points,
    v: points.v.map((value) => (value === null ? null : convert(value))),
    low: convert(points.low),
    high: convert(points.high),
  };
}

/** Pixels between readings from which on each gets its dot: the eye sees what was measured and what is only line. */
const dotSpacing = 9;

function dotsOf({ v, every }: Points, columns: number, bare: boolean): number[] {
  const dots: number[] = [];
  const all = bare || (every && v.length * dotSpacing < columns);
  for (let i = 0; i < v.length; i++) {
    if (v[i] === null) continue;
    const alone = (v[i - 1] ?? null) === null && (v[i + 1] ?? null) === null;
    if (all || alone) dots.push(i);
  }
  return dots;
}

/** Spinning up and running down last so long, milliseconds (common practice): no range is for these. */
const rampMs = { up: 600, down: 500 } as const;

function withoutRamps({ from, to }: RegimeSpan): { readonly from: number; readonly to: number } {
  return { from: from + rampMs.up, to: to - rampMs.down };
}

function bandsOf(
  { channel, unit, plausible }: TraceSource,
  { spans, ranges, signs, stretch, system }: PictureInput,
): Band[] {
  const bands: Band[] = [];
  const inUnits = (value: number): number => shown(value, unit, system).value;
  for (const span of spans) {
    const { regime } = span;
    const { from, to } = regime === "cranking" && channel === "engine-speed" ? withoutRamps(span) : span;
    if (to <= stretch.from || from >= stretch.to || to <= from) continue;
    const range = ranges.channel(channel, regime) ?? plausible;
    if (range === undefined) continue;
    const low = inUnits(range.low ?? Number.NEGATIVE_INFINITY);
    const high = inUnits(range.high ?? Number.POSITIVE_INFINITY);
    const last = bands.at(-1);
    // Neighbours with the same range are one band: no seam where only the regime's name changes.
    if (last !== undefined && last.to === from && last.low === low && last.high === high)
      bands[bands.length - 1] = { ...last, to };
    else bands.push({ from, to, low, high });
  }
  const own = (signs ?? []).filter(
    (sign) => sign.channel === channel && sign.to > stretch.from && sign.from < stretch.to,
  );
  return own.reduce((under, sign) => laidOver(under, sign, inUnits), bands);
}

/** The bands with a sign's own over them: on a side that it says nothing of, what was there holds on. */
function laidOver(bands: readonly Band[], sign: SignBand, inUnits: (value: number) => number): Band[] {
  const { from, to } = sign;
  const low = sign.low === null ? null : inUnits(sign.low);
  const high = sign.high === null ? null : inUnits(sign.high);
  const parts: Band[] = [];
  let at = from;
  const own = (until: number, under?: Band): void => {
    if (until <= at) return;
    const rest = { low: low ?? under?.low ?? -Infinity, high: high ?? under?.high ?? Infinity };
    parts.push({ from: at, to: until, ...rest });
    at = until;
  };
  for (const band of bands) {
    if (band.to <= from || band.from >= to) {
      if (band.from >= to) own(to);
      parts.push(band);
      continue;
    }
    own(band.from);
    if (band.from < from) parts.push({ ...band, to: from });
    own(Math.min(band.to, to), band);
    if (band.to > to) parts.push({ ...band, from: to });
  }
  own(to);
  return parts;
}

interface AxisInput {
  readonly system: UnitSystem;
  readonly height: number;
  readonly also: readonly number[];
}

/** A share that swings about zero, such as a trim, is read against its zero line: both sides of it are shown. */
function aroundZero(sources: readonly TraceSource[]): number[] {
  const swings = sources.some(({ channel, unit }) => {
    const add = channelInfo(channel)?.value?.add ?? 0;
    return unit === "%" && add < 0;
  });
  return swings ? [-5, 5] : [];
}

function axisOf(
  traces: readonly Trace[],
  bands: readonly Band[],
  unit: UnitId,
  { system, height, also }: AxisInput,
): ValueAxis {
  const lows = [...traces.map((t) => t.points.low), ...also].filter((v) => !Number.isNaN(v));
  const highs = [...traces.map((t) => t.points.high), ...also].filter((v) => !Number.isNaN(v));
  let low = Math.min(...lows);
  let high = Math.max(...highs);
  const least = Math.abs(shown(leastSpans[unit] ?? 1, unit, system).value - shown(0, unit, system).value);
  // A band is brought into view unless that would press the trace flat.
  const most = Math.max(high - low, least) * 4;
  for (const band of bands) {
    if (lows.length > 0 && Number.isFinite(band.high - band.low) && band.high - band.low > most) continue;
    if (Number.isFinite(band.low)) low = Math.min(low, band.low);
    if (Number.isFinite(band.high)) high = Math.max(high, band.high);
  }
  if (low > high) return valueAxis(0, 1, 1, 2);
  return valueAxis(low, high, least, Math.max(2, Math.floor((height - topRoom) / 28)));
}
