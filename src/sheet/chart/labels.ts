/** What is written on a chart: the names of its traces with their sampling, and the labels of marks. */
import type { ScaleLinear } from "d3-scale";
import type { MarkEvent } from "../../../shared/recording/format.ts";
import { shown, type UnitSystem } from "../../../shared/units.ts";
import type { Read } from "../../reading/index.ts";
import { markup, plainText, type Markup } from "../markup.ts";
import { paper } from "./paper.ts";
import type { Plausible, RegimeSpan } from "./picture.ts";
import type { Stretch } from "./stretch.ts";

export interface ChartSide {
  readonly reading: Read;
  readonly spans: readonly RegimeSpan[];
  readonly ranges: Plausible;
  readonly stretch: Stretch;
  /** Over the side, where there are two: "before". */
  readonly title?: string;
}

/** One side's place on the paper. */
export interface Plot {
  readonly side: ChartSide;
  readonly left: number;
  readonly width: number;
  readonly x: ScaleLinear<number, number>;
  /** Id of the clip path that ends what is drawn at the plot's edges. */
  readonly clip: string;
}

const nameRow = 12;
const letterWidth = 5.6;
/** Of the piece of line before a name, with the blanks around it. */
const keyWidth = 20;

interface PlacedName {
  readonly x: number;
  readonly row: number;
  readonly text: string;
  readonly colour: number;
}

export interface LaneNames {
  readonly placed: readonly PlacedName[];
  /** Room over the lane that they take. */
  readonly height: number;
}

/**
 * Name, unit and sampling rate of each trace, on the side of each plot; in a shorter form and in several rows where
 * there is no room.
 */
export function namesOf(
  plots: readonly Plot[],
  lane: readonly string[],
  { colours, system }: { readonly colours: readonly number[]; readonly system: UnitSystem },
): LaneNames {
  const width = (text: string): number => keyWidth + text.length * letterWidth;
  const placed = plots.flatMap((plot): PlacedName[] => {
    const { reading, stretch } = plot.side;
    const namesWith = (rateOf: (perSecond: number) => string): string[] =>
      lane.map((channel) => {
        const info = reading.info(channel);
        const rate = reading.channels.find(channel)?.rate(stretch.from, stretch.to) ?? 0;
        const symbol = shown(0, info.unit, system).symbol;
        return `${info.short}${symbol === "" ? "" : `, ${symbol}`} · ${rateOf(rate)}`;
      });
    const long = namesWith(rateText);
    const needed = long.reduce((sum, text) => sum + width(text), 0);
    const names = needed > plot.width ? namesWith(shortRate) : long;
    const end = plot.left + plot.width + 8;
    let x = plot.left;
    let row = 0;
    return names.map((name, i) => {
      const most = Math.floor((plot.width - keyWidth + 8) / letterWidth);
      const text = name.length > most ? `${name.slice(0, Math.max(1, most - 1))}…` : name;
      if (x > plot.left && x + width(text) > end) {
        x = plot.left;
        row += 1;
      }
      const at = x;
      x += width(text);
      return { x: at, row, text, colour: colours[i] ?? 0 };
    });
  });
  return { placed, height: 17 + nameRow * Math.max(0, ...placed.map((p) => p.row)) };
}

/** `y`: the foot of the first row's letters. */
export function drawNames({ placed }: LaneNames, y: number): Markup {
  return markup`${placed.map(({ x, row, text, colour }) => {
    const foot = y + row * nameRow;
    return markup`<line x1="${fixed(x)}" x2="${fixed(x + 12)}" y1="${fixed(foot - 3.5)}" y2="${fixed(foot - 3.5)}" stroke="${paper.traces[colour] ?? "#000000"}" stroke-width="2.5"/><text x="${fixed(x + 16)}" y="${fixed(foot)}" font-size="10.5" fill="${paper.ink}">${plainText(text)}</text>`;
  })}`;
}

function shortRate(perSecond: number): string {
  if (!(perSecond > 0)) return "none";
  return perSecond >= 0.5 ? `${perSecond.toFixed(1)}/s` : `every ${Math.round(1 / perSecond)} s`;
}

/** "9.6 readings a second", "a reading every 12 s". */
export function rateText(perSecond: number): string {
  if (!(perSecond > 0)) return "no readings here";
  if (perSecond >= 0.5) return `${perSecond.toFixed(1)} readings a second`;
  return `a reading every ${Math.round(1 / perSecond)} s`;
}

export const markRow = 13;
const markLetter = 5.4;
const mostLetters = 34;

export interface PlacedMark {
  readonly mark: MarkEvent;
  readonly text: string;
  readonly row: number;
  /** Where its label begins. */
  readonly at: number;
}

/**
 * Labels in as many rows as keep them from lying over each other, three at most; the rest keep their line only. One
 * that would run over the edge begins before its line.
 */
export function placeMarks(
  plot: Plot,
  mask: (text: string) => string,
): { readonly marks: readonly PlacedMark[]; readonly rows: number } {
  const { reading, stretch } = plot.side;
  const most = Math.max(4, Math.min(mostLetters, Math.floor((plot.width - 8) / markLetter)));
  const ends: number[] = [];
  const marks: PlacedMark[] = [];
  for (const mark of reading.marks) {
    if ((mark.until ?? mark.at) < stretch.from || mark.at > stretch.to) continue;
    const label = plainText(mask(mark.label));
    const text = label.length > most ? `${label.slice(0, most - 1)}…` : label;
    const line = Math.max(plot.left, plot.x(mark.at));
    const room = text.length * markLetter + 8;
    const from = Math.max(plot.left, Math.min(line, plot.left + plot.width - room));
    const free = ends.findIndex((end) => end <= from);
    const row = free >= 0 ? free : ends.length;
    if (row < 3) ends[row] = from + room;
    marks.push({ mark, text, row, at: from + 3 });
  }
  return { marks, rows: ends.length };
}

const footLetter = 5.2;

/** Lines of a text in small letters that are no wider than this; a word that is too long is cut into pieces. */
export function wrapped(text: string, width: number): string[] {
  const most = Math.max(8, Math.floor(width / footLetter));
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(" ").flatMap((w) => pieces(w, most))) {
    const longer = line === "" ? word : `${line} ${word}`;
    if (longer.length <= most) line = longer;
    else {
      lines.push(line);
      line = word;
    }
  }
  return [...lines, line];
}

function pieces(word: string, most: number): string[] {
  const found = word.match(new RegExp(`.{1,${most}}`, "gu"));
  return found ?? [word];
}

export function fixed(n: number): string {
  return n.toFixed(1).replace(/\.0$/, "");
}
