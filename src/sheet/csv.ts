/** The readings of a clip as CSV: RFC 4180 (comma, CRLF, quotes where needed), UTF-8. */
import { inWords } from "../../shared/decode.ts";
import { isoWithZoneOf } from "../../shared/times.ts";
import { shown, type UnitSystem } from "../../shared/units.ts";
import type { Read } from "../reading/index.ts";
import { isWordUnit } from "./chart/picture.ts";
import type { Stretch } from "./chart/stretch.ts";

interface Column {
  readonly head: string;
  at(i: number): string;
  readonly series: { readonly times: Float64Array };
}

/**
 * A row for each time at which a chosen channel was read. First column: seconds since the recording's start; second:
 * wall time, ISO 8601 with zone; then each channel in its SI unit and, where there is one, in the US unit; last the
 * marks that hold at that time. Asked and unanswered is an empty cell.
 */
export function clipCsv(
  reading: Read,
  channels: readonly string[],
  { from, to }: Stretch,
  mask: (text: string) => string = (text) => text,
): string {
  const wall = isoWithZoneOf(reading.header?.started ?? "1970-01-01T00:00:00Z");
  const columns = channels.flatMap((channel) => columnsOf(reading, channel));
  const times = new Set<number>();
  for (const { series } of columns) for (const t of series.times) if (t >= from && t <= to) times.add(t);
  const sorted = [...times].sort((a, b) => a - b);
  const next = columns.map(() => 0);
  const head = ["time (s)", "time (ISO 8601)", ...columns.map((c) => c.head), "marks"];
  const lines = [csvLine(head.map(textCell))];
  const marks = reading.marks.filter((m) => m.at <= to && (m.until ?? m.at) >= from);
  const told = new Set<string>();
  for (const t of sorted) {
    const cells = columns.map((column, c) => {
      let at = next[c] ?? 0;
      while (at < column.series.times.length && (column.series.times[at] ?? 0) < t) at += 1;
      let text = "";
      for (; column.series.times[at] === t; at++) text = column.at(at);
      next[c] = at;
      return text;
    });
    const here = marks.filter((m) =>
      m.until === undefined ? m.at <= t && !told.has(m.id) : m.at <= t && t <= m.until,
    );
    for (const mark of here) told.add(mark.id);
    lines.push(csvLine([seconds(t), wall(t), ...cells, textCell(here.map((m) => mask(m.label)).join("; "))]));
  }
  return lines.join("");
}

function columnsOf(reading: Read, channel: string): Column[] {
  const series = reading.channels.find(channel);
  if (series === undefined) return [];
  const info = reading.info(channel);
  const { times, values } = series;
  const name = series.module === "" ? channel : `${channel}@${series.module}`;
  const of = (head: string, text: (value: number) => string): Column => ({
    head,
    series: { times },
    at: (i) => {
      const value = values[i] ?? Number.NaN;
      return Number.isNaN(value) ? "" : text(value);
    },
  });
  if (isWordUnit(info.unit)) return [of(name, (value) => textCell(inWords(info, value, "metric")))];
  const number = (system: UnitSystem) => (value: number) =>
    String(Number(shown(value, info.unit, system).value.toPrecision(10)));
  const si = shown(0, info.unit, "metric").symbol;
  const us = shown(0, info.unit, "us").symbol;
  const metric = of(si === "" ? name : `${name} (${si})`, number("metric"));
  return us === si ? [metric] : [metric, of(`${name} (${us})`, number("us"))];
}

function seconds(t: number): string {
  return (t / 1000).toFixed(6).replace(/\.?0+$/, "");
}

/**
 * A text that a spreadsheet would take for a formula gets an apostrophe before it. Numbers are not texts and stay as
 * they are. Source: OWASP, "CSV Injection".
 */
export function textCell(text: string): string {
  // Shown in a terminal, a control character would be obeyed.
  const shown = text.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]/g, "\ufffd");
  return /^[=+\-@\t\r\n＝＋－＠]/.test(shown) ? `'${shown}` : shown;
}

export function csvLine(cells: readonly string[]): string {
  return `${cells.map((text) => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)).join(",")}\r\n`;
}
