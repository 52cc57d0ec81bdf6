/** Cranks laid over each other: each trace with its time counted from where the starter came on. Pure. */
import type { ChannelStore, Series } from "../../../../shared/channels.ts";
import type { UnitId } from "../../../../shared/units.ts";
import type { Counted, Crank } from "../../../interpret/report/schema.ts";

/** Seconds that are shown before the starter came on, and after it was let go. */
const beforeS = 0.6;
const afterS = 1.5;
const mostS = 15;

export interface CrankTrace {
  readonly crank: number;
  /** Seconds from zero, and values in the table unit; null breaks the line. */
  readonly points: readonly { readonly s: number; readonly v: number | null }[];
}

export interface CrankPanel {
  readonly id: "speed" | "volts" | "pull-down";
  readonly title: string;
  readonly unit: UnitId;
  readonly traces: readonly CrankTrace[];
}

/** The longest of them, seconds; a window that all are seen in. */
export function crankSpan(cranks: readonly Crank[]): { readonly from: number; readonly to: number } {
  const longest = Math.max(2, ...cranks.map((c) => c.lengthS));
  return { from: -beforeS, to: Math.min(mostS, longest + afterS) };
}

export function crankPanels(channels: ChannelStore, cranks: readonly Crank[]): CrankPanel[] {
  const span = crankSpan(cranks);
  const of = (
    find: (crank: Crank) => { series: Series | undefined; as?: (v: number) => number },
  ): CrankTrace[] =>
    cranks.flatMap((crank) => {
      const { series, as = (v: number) => v } = find(crank);
      return series === undefined
        ? []
        : [{ crank: crank.number, points: pointsOf(series, crank.from, { span, as }) }];
    });
  const panels: CrankPanel[] = [
    {
      id: "speed",
      title: "Engine speed",
      unit: "rpm",
      traces: of(() => ({ series: channels.find("engine-speed") })),
    },
    {
      id: "volts",
      title: "Voltage",
      unit: "V",
      traces: of((crank) => ({ series: channels.find(crank.voltsFrom ?? "socket-voltage") })),
    },
    {
      id: "pull-down",
      title: "Manifold pull-down below outside air",
      unit: "kPa",
      traces: of((crank) => {
        const series = channels.find("manifold");
        const outside = channels.find("barometric")?.at(crank.to)?.value ?? valueBefore(series, crank.from);
        return { series: Number.isNaN(outside) ? undefined : series, as: (v) => outside - v };
      }),
    },
  ];
  return panels.filter((panel) => panel.traces.some((trace) => trace.points.some((p) => p.v !== null)));
}

function valueBefore(series: Series | undefined, t: number): number {
  return series?.at(t)?.value ?? Number.NaN;
}

function pointsOf(
  { times, values }: Series,
  zero: number,
  { span, as }: { span: { from: number; to: number }; as: (v: number) => number },
): CrankTrace["points"] {
  const points: { s: number; v: number | null }[] = [];
  let i = lowerBound(times, zero + span.from * 1000);
  for (; i < times.length && (times[i] ?? 0) <= zero + span.to * 1000; i++) {
    const value = values[i] ?? Number.NaN;
    points.push({ s: ((times[i] ?? 0) - zero) / 1000, v: Number.isNaN(value) ? null : as(value) });
  }
  return points;
}

function lowerBound(times: Float64Array, t: number): number {
  let [low, high] = [0, times.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((times[middle] ?? 0) < t) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Numbers of the two that are compared: those that were chosen, else the first and the last, and never one with itself.
 * Cranks are counted from 1; 0 is none.
 */
export function pickedTwo(
  cranks: readonly Pick<Crank, "number">[],
  chosen: readonly [number | null, number | null],
): readonly [number, number] {
  const numbers = cranks.map(({ number }) => number);
  const there = (number: number | null): number | undefined => numbers.find((n) => n === number);
  const first = there(chosen[0]) ?? numbers[0] ?? 0;
  const others = numbers.filter((n) => n !== first);
  const second = others.find((n) => n === chosen[1]) ?? others.at(-1) ?? 0;
  return [first, second];
}

export interface CrankRow {
  readonly name: string;
  readonly unit: UnitId | "s" | "rpm/V";
  readonly figure: (crank: Crank) => Counted;
  /** A difference of temperatures or pressures is shown without the zero point of the unit. */
  readonly digits: number;
}

/** What two cranks are compared by; the figures are the interpreter's. */
export const crankRows: readonly CrankRow[] = [
  { name: "Voltage at rest", unit: "V", figure: (c) => c.restVolts, digits: 2 },
  { name: "Lowest voltage", unit: "V", figure: (c) => c.lowestVolts, digits: 2 },
  { name: "Mean voltage", unit: "V", figure: (c) => c.meanVolts, digits: 2 },
  { name: "Engine speed, median", unit: "rpm", figure: (c) => c.speed, digits: 0 },
  { name: "Engine speed, middle half", unit: "rpm", figure: (c) => c.speedSpread, digits: 0 },
  { name: "RPM drop-outs", unit: "count", figure: (c) => c.dropOuts, digits: 0 },
  { name: "Speed per volt", unit: "rpm/V", figure: (c) => c.speedPerVolt, digits: 1 },
  { name: "First RPM after", unit: "s", figure: (c) => c.firstSpeedS, digits: 2 },
  { name: "Pull-down", unit: "kPa", figure: (c) => c.pullDown, digits: 1 },
  { name: "Throttle", unit: "%", figure: (c) => c.throttle, digits: 1 },
  { name: "Coolant", unit: "°C", figure: (c) => c.coolant, digits: 0 },
  { name: "Intake air", unit: "°C", figure: (c) => c.intakeAir, digits: 0 },
  { name: "Fired after", unit: "s", figure: (c) => c.fireS, digits: 2 },
];
