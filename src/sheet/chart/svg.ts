/**
 * A stretch of a recording as a vector picture: the same reduction, axes and bands as on the page, drawn with d3's
 * scales and paths. It stands alone (no style sheet, no script), so that it can be a file as well.
 */
import { scaleLinear, type ScaleLinear } from "d3-scale";
import { curveLinear, curveStepAfter, line } from "d3-shape";
import { inWords } from "../../../shared/decode.ts";
import { regimeWords } from "../../../shared/ranges.ts";
import type { UnitSystem } from "../../../shared/units.ts";
import type { Read } from "../../reading/index.ts";
import { markup, plainText, type Markup } from "../markup.ts";
import { laneColours } from "./colours.ts";
import { paper } from "./paper.ts";
import { isWordUnit, lanePicture, type LanePicture, type TraceSource } from "./picture.ts";
import type { Stretch } from "./stretch.ts";
import {
  drawNames,
  fixed,
  markRow,
  namesOf,
  placeMarks,
  wrapped,
  type ChartSide,
  type LaneNames,
  type PlacedMark,
  type Plot,
} from "./labels.ts";
import { timeTicks } from "./ticks.ts";
import { regimeTone } from "./tone.ts";

export type { ChartSide };

export interface ChartInput {
  /** One, or two that are drawn beside each other over the same axes. */
  readonly sides: readonly ChartSide[];
  readonly lanes: readonly (readonly string[])[];
  readonly system: UnitSystem;
  /** Unique in the document. */
  readonly id: string;
  /** What it shows, for who cannot see it. */
  readonly title: string;
  readonly description: string;
  /** Lines under the time axis: where it is from, and that it is invented. */
  readonly foot: readonly string[];
  /** Of the whole picture; as wide as the note's paper where not given. */
  readonly width?: number;
  /** What leaves may be masked. */
  readonly mask?: (text: string) => string;
}

const usualWidth = 760;
const axisWidth = 46;
const between = 26;
const rightRoom = 6;
const ribbonHeight = 18;
const font = "font-family=\"system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', sans-serif\"";

/** Height of a lane's plot: what is read most gets more, and a chart must fit on a page. */
function laneHeight(lane: readonly string[], count: number): number {
  const base = count > 8 ? 46 : 62;
  return lane.includes("engine-speed") ? base * 1.5 : base;
}

export function chartSvg(input: ChartInput): Markup {
  const { sides, lanes, id, width = usualWidth } = input;
  const mask = input.mask ?? ((text: string) => text);
  const plots = plotsOf(sides, id, width);
  const placed = plots.map((plot) => placeMarks(plot, mask));
  const rows = Math.max(0, ...placed.map((marks) => marks.rows));
  const top = (sides.length > 1 ? 16 : 2) + rows * markRow;
  let y = top + ribbonHeight + 2;
  const parts: Markup[] = [];
  const bodyTop = y;
  for (const [at, lane] of lanes.entries()) {
    const height = laneHeight(lane, lanes.length);
    const names = namesOf(plots, lane, { colours: laneColours(lane, at), system: input.system });
    parts.push(drawLane({ input, plots, lane, at, y, height, names }));
    y += names.height + height;
  }
  const bottom = y;
  const over = plots.map((plot, i) =>
    overlay(plot, { marks: placed[i]?.marks ?? [], top, bodyTop, bottom, rows }),
  );
  const axis = plots.map((plot) => timeAxis(plot, bottom, lanes.length));
  const feet = input.foot.flatMap((text) => wrapped(plainText(mask(text)), width - axisWidth - rightRoom));
  const foot = feet.map(
    (text, i) =>
      markup`<text x="${axisWidth}" y="${bottom + 31 + i * 13}" font-size="10" fill="${paper.soft}">${text}</text>`,
  );
  const height = Math.ceil(bottom + 22 + feet.length * 13 + 4);
  const labels = markup`aria-labelledby="${id}-t ${id}-d"`;
  return markup`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" ${labels} ${raw(font)} font-size="11">
<title id="${id}-t">${plainText(mask(input.title))}</title>
<desc id="${id}-d">${plainText(mask(input.description))}</desc>
<rect width="${width}" height="${height}" fill="#ffffff"/>
${parts}${over}${axis}${foot}</svg>`;
}

function raw(text: string): Markup {
  return markup([text] as unknown as TemplateStringsArray);
}

function plotsOf(sides: readonly ChartSide[], id: string, width: number): Plot[] {
  const each = (width - axisWidth - rightRoom - between * (sides.length - 1)) / sides.length;
  return sides.map((side, i) => {
    const left = axisWidth + i * (each + between);
    const { from, to } = side.stretch;
    return { side, left, width: each, x: scaleLinear([from, to], [left, left + each]), clip: `${id}-${i}` };
  });
}

interface LaneDraw {
  readonly input: ChartInput;
  readonly plots: readonly Plot[];
  readonly lane: readonly string[];
  readonly at: number;
  readonly y: number;
  readonly height: number;
  readonly names: LaneNames;
}

function drawLane({ input, plots, lane, at, y, height, names }: LaneDraw): Markup {
  const { system } = input;
  const colours = laneColours(lane, at);
  const pictureOf = (plot: Plot, also: readonly number[]): LanePicture =>
    lanePicture({
      sources: sourcesOf(plot.side.reading, lane, colours),
      spans: plot.side.spans,
      ranges: plot.side.ranges,
      system,
      stretch: plot.side.stretch,
      width: plot.width,
      height,
      axisWidth: 0,
      timeTicks: timeTicks(plot.side.stretch, plot.width / 70).map((tick) => tick.t),
      also,
    });
  let pictures = plots.map((plot) => pictureOf(plot, []));
  if (plots.length > 1) {
    const all = pictures.flatMap((p) => p.traces.flatMap((t) => [t.points.low, t.points.high]));
    pictures = plots.map((plot) => pictureOf(plot, all));
  }
  const first = pictures[0];
  if (first === undefined) return markup``;
  const plotTop = y + names.height;
  // Sides may differ in their bands; the axis of the widest holds for all.
  const low = Math.min(...pictures.map((p) => p.axis.min));
  const high = Math.max(...pictures.map((p) => p.axis.max));
  const yScale = scaleLinear([low, high], [plotTop + height, plotTop]);
  const drawn = pictures.map((picture, i) => {
    const plot = plots[i];
    return plot === undefined ? null : drawPlot(picture, plot, { yScale, plotTop, height, lane, system });
  });
  const ticks = first.tickTexts.flatMap((text, i) => {
    const ty = yScale(first.axis.ticks[i] ?? 0);
    if (ty < plotTop + 5 || ty > plotTop + height - 3) return [];
    return [
      markup`<text x="${axisWidth - 5}" y="${fixed(ty + 3.5)}" text-anchor="end" font-size="10" fill="${paper.soft}">${text}</text>`,
    ];
  });
  return markup`<g>${drawNames(names, y + 12)}${drawn}${ticks}</g>\n`;
}

function sourcesOf(reading: Read, lane: readonly string[], colours: readonly number[]): TraceSource[] {
  return lane.flatMap((channel, i) => {
    const series = reading.channels.find(channel);
    if (series === undefined) return [];
    const { unit, defined } = reading.info(channel);
    const drawn = { unit, colour: colours[i] ?? 0, stepped: isWordUnit(unit) };
    return [{ channel, series, ...drawn, plausible: defined?.plausible }];
  });
}

interface PlotDraw {
  readonly yScale: ScaleLinear<number, number>;
  readonly plotTop: number;
  readonly height: number;
  readonly lane: readonly string[];
  readonly system: UnitSystem;
}

function drawPlot(picture: LanePicture, plot: Plot, draw: PlotDraw): Markup {
  const { x } = plot;
  const { yScale, plotTop, height } = draw;
  const bottom = plotTop + height;
  const clampY = (v: number): number => Math.min(bottom, Math.max(plotTop, yScale(v)));
  const clampX = (t: number): number => Math.min(plot.left + plot.width, Math.max(plot.left, x(t)));
  const bands = picture.bands.map((band) => {
    const [x0, x1] = [clampX(band.from), clampX(band.to)];
    const y0 = band.high === Number.POSITIVE_INFINITY ? plotTop : clampY(band.high);
    const y1 = band.low === Number.NEGATIVE_INFINITY ? bottom : clampY(band.low);
    if (!(x1 - x0 > 0 && y1 - y0 > 0)) return null;
    return markup`<rect x="${fixed(x0)}" y="${fixed(y0)}" width="${fixed(x1 - x0)}" height="${fixed(y1 - y0)}" fill="${paper.band}"/>`;
  });
  const times = picture.timeTicks.map(
    (t) =>
      markup`<line x1="${fixed(x(t))}" x2="${fixed(x(t))}" y1="${fixed(plotTop)}" y2="${fixed(bottom)}" stroke="${paper.grid}"/>`,
  );
  const values = picture.axis.ticks.map((tick) => {
    const ty = yScale(tick);
    if (ty <= plotTop || ty >= bottom) return null;
    return markup`<line x1="${fixed(plot.left)}" x2="${fixed(plot.left + plot.width)}" y1="${fixed(ty)}" y2="${fixed(ty)}" stroke="${paper.grid}"/>`;
  });
  const traces = picture.traces.map((trace) => {
    const { t, v } = trace.points;
    const indices = [...t.keys()].filter((i) => within(t, i, plot.side.stretch));
    const outside = trace.outside
      .filter(({ t: at }) => at >= plot.side.stretch.from && at <= plot.side.stretch.to)
      .map(({ t: at, v: value, above }) => {
        const tip = clampY(value) + (above ? -8 : 8);
        return `M${fixed(x(at) - 3.5)},${fixed(tip + (above ? 5 : -5))}h7L${fixed(x(at))},${fixed(tip)}z`;
      });
    const path = line<number>()
      .defined((i) => v[i] !== null)
      .x((i) => x(t[i] ?? 0))
      .y((i) => clampY(v[i] ?? 0))
      .curve(trace.stepped ? curveStepAfter : curveLinear)
      .digits(1)(indices);
    const colour = paper.traces[trace.colour] ?? "#000000";
    const dots = trace.dots
      .filter((i) => x(t[i] ?? 0) >= plot.left && x(t[i] ?? 0) <= plot.left + plot.width)
      .map((i) => `M${fixed(x(t[i] ?? 0) - 1.5)},${fixed(clampY(v[i] ?? 0) - 1.5)}h3v3h-3z`);
    const missed = trace.points.missed
      .filter((at) => at >= plot.side.stretch.from && at <= plot.side.stretch.to)
      .map((at) => `M${fixed(x(at) - 1)},${fixed(bottom - 5)}h2v5h-2z`);
    return markup`${trace.bare || path === null || path === "" ? null : markup`<path d="${path}" fill="none" stroke="${colour}" stroke-width="1.2" stroke-linejoin="round"/>`}${dots.length === 0 ? null : markup`<path d="${dots.join("")}" fill="${colour}"/>`}${missed.length === 0 ? null : markup`<path d="${missed.join("")}" fill="${paper.missed}"/>`}${outside.length === 0 ? null : markup`<path d="${outside.join("")}" fill="${paper.missed}"/>`}`;
  });
  const frame = markup`<rect x="${fixed(plot.left)}" y="${fixed(plotTop)}" width="${fixed(plot.width)}" height="${fixed(height)}" fill="none" stroke="${paper.frame}" stroke-width="0.7"/>`;
  return markup`${bands}${times}${values}<g clip-path="url(#${plot.clip})">${traces}${wordsAlong(plot, draw)}</g>${frame}`;
}

/** Readings in the stretch, and one on each side so that the line reaches the edge. */
function within(t: readonly number[], i: number, { from, to }: Stretch): boolean {
  return (t[i + 1] ?? Number.POSITIVE_INFINITY) >= from && (t[i - 1] ?? Number.NEGATIVE_INFINITY) <= to;
}

const mostWords = 8;

/** States and codes are told in words where they change. */
function wordsAlong(plot: Plot, { lane, plotTop, system }: PlotDraw): Markup | null {
  const channel = lane[0] ?? "";
  const { reading, stretch } = plot.side;
  const info = reading.info(channel);
  const series = reading.channels.find(channel);
  if (series === undefined || !isWordUnit(info.unit)) return null;
  const changes: { t: number; words: string }[] = [];
  const first = series.at(stretch.from);
  if (first !== null) changes.push({ t: stretch.from, words: inWords(info, first.value, system) });
  for (let i = series.indexAt(stretch.from) + 1; i <= series.indexAt(stretch.to); i++) {
    const words = inWords(info, series.values[i] ?? Number.NaN, system);
    if (words !== changes.at(-1)?.words) changes.push({ t: series.times[i] ?? 0, words });
    if (changes.length > mostWords) return null;
  }
  return markup`${changes.map(
    ({ t, words }, i) =>
      markup`<text x="${fixed(plot.x(t) + 3)}" y="${fixed(plotTop + 12 + (i % 3) * 12)}" font-size="10" fill="${paper.ink}">${plainText(words)}</text>`,
  )}`;
}

interface OverDraw {
  readonly marks: readonly PlacedMark[];
  readonly top: number;
  readonly bodyTop: number;
  readonly bottom: number;
  readonly rows: number;
}

/** What runs across all lanes: regimes, marks, stretches without a link. */
function overlay(plot: Plot, { marks, top, bodyTop, bottom, rows }: OverDraw): Markup {
  const { side, left, x } = plot;
  const right = left + plot.width;
  const clampX = (t: number): number => Math.min(right, Math.max(left, x(t)));
  const spans = side.spans.flatMap(({ from, to, regime }) => {
    const [x0, x1] = [clampX(from), clampX(to)];
    if (x1 - x0 < 0.5) return [];
    const words = regimeWords[regime];
    const fits = x1 - x0 > words.length * 5.4 + 6;
    return [
      markup`<rect x="${fixed(x0)}" y="${top}" width="${fixed(x1 - x0)}" height="14" fill="${paper.ribbon[regimeTone(regime)]}" stroke="${paper.frame}" stroke-width="0.5"/>${fits ? markup`<text x="${fixed((x0 + x1) / 2)}" y="${top + 10.5}" text-anchor="middle" font-size="10" fill="${paper.ink}">${words}</text>` : null}`,
    ];
  });
  const gaps = side.reading.gaps.flatMap((gap) => {
    const [x0, x1] = [clampX(gap.from), clampX(gap.to ?? Number.POSITIVE_INFINITY)];
    if (x1 - x0 < 0.5) return [];
    return [
      markup`<rect x="${fixed(x0)}" y="${bodyTop}" width="${fixed(x1 - x0)}" height="${fixed(bottom - bodyTop)}" fill="${paper.gap}" fill-opacity="0.6"/><text x="${fixed(x0 + 3)}" y="${bodyTop + 10}" font-size="10" fill="${paper.ink}">no link</text>`,
    ];
  });
  const lines = marks.map(({ mark, text, row, at }) => {
    const x0 = clampX(mark.at);
    const x1 = mark.until === undefined ? x0 : clampX(mark.until);
    const from = row < 3 ? top - (rows - row) * markRow + 2 : top;
    const stroke = markup`stroke="${paper.ink}" stroke-width="0.8" stroke-dasharray="2 2"`;
    return markup`${x1 > x0 ? markup`<rect x="${fixed(x0)}" y="${bodyTop}" width="${fixed(x1 - x0)}" height="${fixed(bottom - bodyTop)}" fill="${paper.ink}" fill-opacity="0.05"/><line x1="${fixed(x1)}" x2="${fixed(x1)}" y1="${top}" y2="${fixed(bottom)}" ${stroke}/>` : null}<line x1="${fixed(x0)}" x2="${fixed(x0)}" y1="${from}" y2="${fixed(bottom)}" ${stroke}/>${row < 3 ? markup`<text x="${fixed(at)}" y="${from + 8.5}" font-size="10" fill="${paper.ink}" stroke="#ffffff" stroke-width="2.5" paint-order="stroke">${text}</text>` : null}`;
  });
  const title =
    side.title === undefined
      ? null
      : markup`<text x="${fixed(left)}" y="11" font-weight="600" fill="${paper.ink}">${plainText(side.title)}</text>`;
  return markup`<clipPath id="${plot.clip}"><rect x="${fixed(left)}" y="0" width="${fixed(plot.width)}" height="${fixed(bottom)}"/></clipPath>${title}<g clip-path="url(#${plot.clip})">${spans}${gaps}${lines}</g>\n`;
}

function timeAxis(plot: Plot, y: number, lanes: number): Markup {
  if (lanes === 0) return markup``;
  const end = plot.left + plot.width;
  return markup`${timeTicks(plot.side.stretch, plot.width / 70).map(({ t, text }) => {
    const x = plot.x(t);
    // The last one must not be cut by the edge of the picture.
    const [at, anchor] = x > end - 12 ? [end, "end"] : [x, "middle"];
    return markup`<text x="${fixed(at)}" y="${fixed(y + 12)}" text-anchor="${anchor}" font-size="10" fill="${paper.soft}">${text}</text>`;
  })}`;
}
