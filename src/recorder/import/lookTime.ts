/** Which column tells the time, how it is written, and how rows lie in it. */
import type { LogLook } from "../../../shared/logLook.ts";
import { nameAndUnit } from "../../../shared/nameGuess.ts";
import { unitSymbol } from "../../../shared/unitNames.ts";
import { cellOf } from "./cells.ts";
import { clockSeconds, isoMs } from "./clockTimes.ts";
import { dayIn, orderOf, RowClock } from "./dates.ts";

type Time = LogLook["time"];
export type FoundTime = Pick<Time, "column" | "unit" | "sure" | "rows" | "held" | "date" | "day"> & {
  readonly first: readonly string[];
};

interface Cells {
  readonly name: string;
  readonly cells: readonly string[];
}

const timeWords =
  /^(?:.*\b)?(?:time|times|timestamp|time ?stamp|elapsed|clock|date ?time|zeit|uhrzeit|seconds?|secs?|millis|ms|t)\b.*$/i;
/** These are times too, but readings of the module. */
const readingWords = /mil|clear|dtc|code|warm|injection|ignition/i;

/** Whether a column is called as times are. */
export function isTimeName(name: string): boolean {
  const plain = nameAndUnit(name).name.replace(/[_-]+/g, " ");
  return timeWords.test(plain) && !readingWords.test(plain);
}

/** `ENGINE_RUN_TINE`: a time since the start of the engine, spelt as it may be. */
const runName = /run.?ti[mn]e|since.*start/i;

/** Null where no column can be the time. */
export function timeOf(columns: readonly Cells[], decimal: "." | ","): FoundTime | null {
  const found = columns
    .map((column, place) => ({ found: timeColumn(column, decimal), name: column.name, place }))
    .flatMap(({ found: one, name, place }) =>
      one === null ? [] : [{ ...one, score: one.score + scoreOf(name, place) }],
    )
    .sort((a, b) => b.score - a.score)[0];
  if (found === undefined || found.score < 2) return null;
  const { column, unit, sure, rows, held, first } = found;
  return { column, unit, sure, rows, held, first };
}

/** The day of a time of day: beside it in a column, before it in its own cells, or above the table. */
export function dayOfTable(
  time: FoundTime,
  columns: readonly Cells[],
  above: readonly (readonly string[])[],
): FoundTime {
  if (time.unit !== "clock") return time;
  for (const { name, cells } of columns) {
    if (name === "") continue;
    const order = orderOf(name === time.column ? cells.map((cell) => cell.replace(/[\sT].*$/, "")) : cells);
    if (order !== null) return { ...time, date: { column: name, order } };
  }
  const day = dayIn(above.flat());
  return day === null ? time : { ...time, day };
}

function scoreOf(name: string, place: number): number {
  if (readingWords.test(name)) return -5;
  return (isTimeName(name) ? 2 : 0) + (runName.test(name) ? 1 : 0) + (place === 0 ? 1 : 0);
}

function timeColumn({ name, cells }: Cells, decimal: "." | ","): (FoundTime & { score: number }) | null {
  const filled = cells.filter((cell) => cell !== "");
  if (filled.length === 0) return null;
  const mostly = (is: (cell: string) => boolean): boolean => filled.filter(is).length >= filled.length * 0.9;
  const first = filled.slice(0, 4);
  const asTimed = { column: name, rows: "as-timed", held: false, first } as const;
  if (mostly((cell) => !Number.isNaN(isoMs(cell))))
    return { ...asTimed, unit: "ISO 8601", sure: true, score: 3 };
  if (mostly((cell) => !Number.isNaN(clockSeconds(cell)))) {
    // Past midnight a clock goes on: it does not fall back.
    const days = new RowClock({ date: null, day: null });
    const seconds = filled
      .map((cell) => days.take(clockSeconds(cell), ""))
      .filter((value) => !Number.isNaN(value));
    return { ...asTimed, unit: "clock", sure: true, score: 2, ...placesOf(seconds, 1) };
  }
  const numbers = filled.map((cell) => cellOf(cell, decimal).number).filter((value) => !Number.isNaN(value));
  if (numbers.length < filled.length * 0.9) return null;
  const falls = numbers.filter((value, i) => i > 0 && value < (numbers[i - 1] ?? value)).length;
  const rises = numbers.filter((value, i) => i > 0 && value > (numbers[i - 1] ?? value)).length;
  if (rises === 0 || falls > rises / 20 + 1) return null;
  const least = Math.min(...numbers);
  if (least > 1e11 && least < 1e14) return { ...asTimed, unit: "epoch ms", sure: true, score: 2 };
  if (least > 1e8 && least < 1e11) return { ...asTimed, unit: "epoch s", sure: true, score: 2 };
  const said =
    unitSymbol(nameAndUnit(name).unit) ?? unitSymbol(/(?:^|[\s_])([a-z]+)$/i.exec(name)?.[1] ?? "");
  const unit = said === "s" || said === "ms" || said === "min" ? said : byDistance(numbers);
  const places = placesOf(numbers, unit === "s" ? 1 : 0);
  return { ...asTimed, unit, sure: said === unit, score: 1, ...places };
}

/** Rows of a log are a few hundredths to a few seconds apart. */
function byDistance(numbers: readonly number[]): "s" | "ms" {
  const steps = numbers
    .slice(1)
    .map((value, i) => value - (numbers[i] ?? value))
    .filter((step) => step > 0);
  const usual = steps.sort((a, b) => a - b)[steps.length >> 1] ?? 0;
  return usual >= 15 && numbers.every((value) => Number.isInteger(value)) ? "ms" : "s";
}

/** Whole steps that several rows share: spread evenly, or steady where the time itself is held. `step`: 0 is never coarse. */
function placesOf(numbers: readonly number[], step: number): { rows: Time["rows"]; held: boolean } {
  const plain = { rows: "as-timed", held: false } as const;
  if (step === 0 || numbers.length < 10 || !numbers.every((value) => Number.isInteger(value))) return plain;
  const moves = numbers.slice(1).map((value, i) => value - (numbers[i] ?? value));
  const moved = moves.filter((move) => move > 0);
  if (moved.length > moves.length * 0.7) return plain;
  // Steps over more than one second with rows between them: the time is read only now and then.
  const skips = moved.filter((move) => move > step).length;
  const backs = moves.filter((move) => move < 0).length;
  return skips > moved.length / 4 || backs > 0 || moved.length === 0
    ? { rows: "steady", held: true }
    : { rows: "spread", held: false };
}
