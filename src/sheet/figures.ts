/** The figures of a stretch, channel by channel, for the table beside its chart. */
import { inWords } from "../../shared/decode.ts";
import { format, type UnitSystem } from "../../shared/units.ts";
import { mean } from "../interpret/maths/stats.ts";
import type { Read } from "../reading/index.ts";
import { isWordUnit } from "./chart/picture.ts";
import type { Stretch } from "./chart/stretch.ts";
import { rateText } from "./chart/labels.ts";
import { difference } from "./values.ts";

export interface ChannelFigures {
  readonly channel: string;
  readonly name: string;
  readonly readings: number;
  readonly unanswered: number;
  readonly rate: string;
  readonly lowest: string;
  readonly mean: string;
  readonly highest: string;
  /** In the table unit; NaN where there is none. */
  readonly meanValue: number;
}

const mostStates = 4;

/** Readings with from <= t <= to. */
export function channelFigures(
  reading: Read,
  channel: string,
  { from, to }: Stretch,
  system: UnitSystem,
): ChannelFigures {
  const info = reading.info(channel);
  const series = reading.channels.find(channel);
  const values: number[] = [];
  let unanswered = 0;
  if (series !== undefined) {
    const { times, values: all } = series;
    let i = series.indexAt(from);
    while (i >= 0 && times[i] === from) i -= 1;
    for (i += 1; i < times.length && (times[i] ?? 0) <= to; i++) {
      const value = all[i] ?? Number.NaN;
      if (Number.isNaN(value)) unanswered += 1;
      else values.push(value);
    }
  }
  const base = {
    channel,
    name: info.name,
    readings: values.length,
    unanswered,
    rate: rateText(series?.rate(from, to) ?? 0),
  };
  if (isWordUnit(info.unit)) {
    const states = [...new Set(values.map((v) => inWords(info, v, system)))];
    const text =
      states.length > mostStates ? `${states.slice(0, mostStates).join("; ")}; …` : states.join("; ");
    return { ...base, lowest: "", mean: text, highest: "", meanValue: Number.NaN };
  }
  const middle = values.length === 0 ? Number.NaN : mean(values);
  const show = (v: number): string => format(v, info.unit, system);
  return {
    ...base,
    lowest: show(values.reduce((a, b) => Math.min(a, b), values.length === 0 ? Number.NaN : Infinity)),
    mean: show(middle),
    highest: show(values.reduce((a, b) => Math.max(a, b), values.length === 0 ? Number.NaN : -Infinity)),
    meanValue: middle,
  };
}

/** "−3.2 kPa" from the first to the second; a dash where one has no figure. */
export function meanDifference(
  a: ChannelFigures,
  b: ChannelFigures,
  { unit, system }: { readonly unit: string; readonly system: UnitSystem },
): string {
  const by = b.meanValue - a.meanValue;
  return Number.isNaN(by)
    ? "–"
    : difference(by, unit, system)
        .replace(/^-/, "−")
        .replace(/^(?=\d)/, "+");
}
