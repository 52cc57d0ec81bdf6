import { counted } from "./tally.ts";

/** Turns the time column into a time for each row, milliseconds since the first row. */

export interface RowTimes {
  /** Milliseconds since the first kept row, never falling. */
  readonly ms: readonly number[];
  /** Rows of the table that were kept, in order. */
  readonly rows: readonly number[];
  readonly notices: readonly string[];
}

/** Each row at the time it says. Rows that go back in time are dropped. */
export function asTimed(seconds: readonly number[]): RowTimes {
  const rows: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  seconds.forEach((time, row) => {
    if (time < last) return;
    last = time;
    rows.push(row);
  });
  const dropped = seconds.length - rows.length;
  const zero = seconds[0] ?? 0;
  return {
    ms: rows.map((row) => ((seconds[row] ?? 0) - zero) * 1000),
    rows,
    notices: dropped === 0 ? [] : [`${counted(dropped, "row")} dropped: earlier than a row above them`],
  };
}

/** Rows that share a time lie evenly between it and the next one; the last ones at the usual distance. */
export function spread(seconds: readonly number[]): RowTimes {
  const plain = asTimed(seconds);
  const groups = groupsOf(plain.ms);
  const distances = groups.slice(0, -1).map((g, i) => ((groups[i + 1]?.time ?? g.time) - g.time) / g.count);
  const usual = median(distances);
  const ms = groups.flatMap((group, i) =>
    Array.from({ length: group.count }, (_, k) => group.time + k * (distances[i] ?? usual)),
  );
  const shared = groups.filter((g) => g.count > 1).length;
  return {
    ms,
    rows: plain.rows,
    notices: [
      ...plain.notices,
      ...(shared === 0
        ? []
        : [`rows that share a time are spread evenly up to the next time (${counted(shared, "time")})`]),
    ],
  };
}

/** A row in which the time column moved. */
interface Step {
  readonly row: number;
  readonly time: number;
}

/** Rows from `row` on lie at row * pace + offset, with an offset between `low` and `high`; seconds. */
interface Stretch {
  readonly row: number;
  low: number;
  high: number;
}

/**
 * Rows at a steady distance that is measured from the file. The time column only corrects it, and may stand still
 * or start again, as a time since engine start does. `resolution` is the step of the time column in seconds: a
 * time of 7 may be anything from 7 up to 7 + resolution, and may have been read up to a row earlier.
 */
export function steady(seconds: readonly number[], resolution: number): RowTimes {
  const steps = stepsOf(seconds);
  const pace = paceOf(seconds, steps, resolution);
  if (!(pace > 0)) return spread(seconds);
  const width = resolution + pace;
  const stretches: Stretch[] = [{ row: 0, low: Number.NEGATIVE_INFINITY, high: Number.POSITIVE_INFINITY }];
  let current = stretches[0] as Stretch;
  /** Seconds by which the time column fell behind by standing still or starting again. */
  let behind = 0;
  let stood = 0;
  for (const { row, time } of steps) {
    let low = time + behind - pace * row;
    if (current.low - (low + width) > width) {
      const shift = (current.low + current.high) / 2 - (low + width / 2);
      behind += shift;
      low += shift;
      stood += 1;
    }
    const high = low + width;
    if (low > current.high || high < current.low) {
      current = { row, low, high };
      stretches.push(current);
    } else {
      current.low = Math.max(current.low, low);
      current.high = Math.min(current.high, high);
    }
  }
  const notices = [`rows are a steady ${pace.toFixed(3)} s apart, measured from the file`];
  if (stretches.length > 1)
    notices.push(`the time column moved the rows on or back ${counted(stretches.length - 1, "time")}`);
  if (stood > 0) {
    notices.push(
      `the time column stood still or started again ${counted(stood, "time")}: the rows go on steadily`,
    );
  }
  return { ms: along(stretches, seconds.length, pace), rows: [...seconds.keys()], notices };
}

function along(stretches: readonly Stretch[], rows: number, pace: number): number[] {
  const ms: number[] = [];
  let offset = Number.NaN;
  stretches.forEach(({ row: from, low, high }, i) => {
    if (i === 0) offset = Number.isFinite(low) ? (low + high) / 2 : 0;
    else offset = Math.min(Math.max(offset, low), high);
    const to = stretches[i + 1]?.row ?? rows;
    for (let row = from; row < to; row++)
      ms.push(Math.max(ms.at(-1) ?? -Infinity, (row * pace + offset) * 1000));
  });
  const zero = ms[0] ?? 0;
  return ms.map((t) => t - zero);
}

function stepsOf(seconds: readonly number[]): Step[] {
  const steps: Step[] = [];
  seconds.forEach((time, row) => {
    if (row > 0 && time !== seconds[row - 1]) steps.push({ row, time });
  });
  return steps;
}

/** Seconds from row to row over the steps that are no gap, stand-still or new start; NaN where there are none. */
function paceOf(seconds: readonly number[], steps: readonly Step[], resolution: number): number {
  const moves = steps.slice(1).map((step, i) => {
    const before = steps[i] as Step;
    return { time: step.time - before.time, rows: step.row - before.row };
  });
  // A file of one step only: from its first row to that.
  const [only] = steps;
  if (moves.length === 0 && only !== undefined)
    moves.push({ time: only.time - (seconds[0] ?? 0), rows: only.row });
  const usual = median(moves.map((m) => m.time / m.rows));
  const good = moves.filter((m) => Math.abs(m.time - usual * m.rows) <= resolution + usual);
  return sum(good.map((m) => m.time)) / sum(good.map((m) => m.rows));
}

function groupsOf(times: readonly number[]): { time: number; count: number }[] {
  const groups: { time: number; count: number }[] = [];
  for (const time of times) {
    const last = groups.at(-1);
    if (last !== undefined && last.time === time) last.count += 1;
    else groups.push({ time, count: 1 });
  }
  return groups;
}

function sum(numbers: readonly number[]): number {
  return numbers.reduce((a, b) => a + b, 0);
}

/** The middle one, the lower of the two middle ones; 0 of none. */
function median(numbers: readonly number[]): number {
  return numbers.toSorted((a, b) => a - b)[(numbers.length - 1) >> 1] ?? 0;
}
