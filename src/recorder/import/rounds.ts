/**
 * Tells real readings from held ones. Many loggers read one parameter after another, round after round, and write
 * a row more often than a round takes: each column then repeats its last reading until it is read again.
 *
 * The rule, for the columns that are read in one round:
 * - A row in which a column's value differs from the row before is a real reading of that column, and so is the
 *   first row of all columns.
 * - A round ends at the first row in which a column that already changed in this round changes again: no column
 *   is read twice in a round.
 * - Between two changes of a column that lie n rounds apart it was read n - 1 times with the same value. These
 *   readings are placed a round apart, in the rows nearest to that.
 *
 * Limits: the place of such an unchanged reading is good to about a row, its value is exact. Where nothing at all
 * changes there is no sign of a round, and no readings are assumed. Columns that are read at different paces must
 * be given different round names, or the slower ones get too many readings.
 */

/** Rows of real readings by column. Values may be NaN (no value): such rows are never readings. */
export function realReadings(columns: readonly (readonly number[])[], rows: number): number[][] {
  const changes = columns.map((column) => changedRows(column, rows));
  const starts = roundStarts(changes, rows);
  const places = roundPlaces(starts, rows);
  return columns.map((column, c) =>
    fill(changes[c] ?? [], places).filter((row) => !Number.isNaN(column[row] ?? Number.NaN)),
  );
}

function changedRows(column: readonly number[], rows: number): number[] {
  const changed: number[] = [];
  for (let row = 0; row < rows; row++) {
    if (row === 0 || !Object.is(column[row], column[row - 1])) changed.push(row);
  }
  return changed;
}

/** Rows at which a round begins. The first row belongs to a round in which everything was read. */
export function roundStarts(changes: readonly (readonly number[])[], rows: number): number[] {
  const byRow: number[][] = Array.from({ length: rows }, () => []);
  changes.forEach((changed, column) => {
    for (const row of changed) byRow[row]?.push(column);
  });
  const starts = [0];
  let seen = new Set(changes.keys());
  for (let row = 1; row < rows; row++) {
    const now = byRow[row] ?? [];
    if (now.some((column) => seen.has(column))) {
      starts.push(row);
      seen = new Set();
    }
    for (const column of now) seen.add(column);
  }
  return starts;
}

/** Each row's place on a scale of rounds: 3.25 is a quarter into the fourth round. */
function roundPlaces(starts: readonly number[], rows: number): number[] {
  const places: number[] = [];
  starts.forEach((start, round) => {
    const next = starts[round + 1];
    // How long the last round would have been is not known: as long as the one before, but it stays one round.
    const length =
      next === undefined ? Math.max(rows - start, start - (starts[round - 1] ?? start)) : next - start;
    for (let row = start; row < (next ?? rows); row++) places.push(round + (row - start) / length);
  });
  return places;
}

/** The column's changes, with the unchanged readings between and after them. */
function fill(changed: readonly number[], places: readonly number[]): number[] {
  const readings: number[] = [];
  changed.forEach((from, i) => {
    readings.push(from);
    const to = changed[i + 1] ?? places.length;
    const begin = places[from] ?? 0;
    const end = i + 1 < changed.length ? (places[to] ?? 0) : (places.at(-1) ?? 0);
    const closed = i + 1 < changed.length;
    const span = end - begin;
    // Towards the end of the file there is no next change to lie between: a reading a round while rounds last.
    const rounds = closed ? Math.round(span) : Math.floor(span + 0.5) + 1;
    const step = closed ? span / rounds : 1;
    let row = from;
    for (let n = 1; n < rounds; n++) {
      row = nearestRow(places, begin + n * step, row + 1, to - 1);
      if (row < 0) break;
      readings.push(row);
    }
  });
  return readings;
}

/** The row within low..high whose place is nearest, or -1 where there is no such row. */
function nearestRow(places: readonly number[], place: number, low: number, high: number): number {
  if (low > high) return -1;
  let row = low;
  while (row < high && Math.abs((places[row + 1] ?? 0) - place) <= Math.abs((places[row] ?? 0) - place))
    row += 1;
  return row;
}
