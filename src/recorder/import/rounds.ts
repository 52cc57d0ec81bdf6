/**
 * Tells real readings from held ones. Many loggers read one parameter after another, round after round, and write
 * a row more often than a round takes: each column then repeats its last reading until it is read again.
 *
 * The rule, for the columns that are read in one round:
 * - A row in which a column's value differs from the row before is a real reading of that column, and so is the
 *   first row of all columns.
 * - The column that changes most often beats the time: from one of its changes to the next is a round. Where it
 *   kept its value through a round, the others tell: a column that changes twice between two beats was read in two
 *   rounds, so the stretch is divided evenly into as many rounds as that takes.
 * - Where in a round a column is read, its changes tell. In every round in which it did not change it was read
 *   there with the same value, in the row nearest to that place.
 *
 * Limits: the place of such an unchanged reading is good to about a row, its value is exact; for a
 * column that never changes only the count is known. Where nothing at all
 * changes there is no sign of a round, and no readings are assumed. Columns that are read at different paces must
 * be given different round names, or the slower ones get too many readings.
 */

/** Rows of real readings by column. Values may be NaN (no value): such rows are never readings. */
export function realReadings(columns: readonly (readonly number[])[], rows: number): number[][] {
  const changes = columns.map((column) => changedRows(column, rows));
  const places = roundPlaces(changes, rows);
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

/** Each row's place on a scale of rounds: 3.25 is a quarter into the fourth round. */
function roundPlaces(changes: readonly (readonly number[])[], rows: number): number[] {
  const beats = changes.reduce((most, changed) => (changed.length > most.length ? changed : most), [0]);
  const lengths = beats.slice(1, -1).map((row, i) => (beats[i + 2] ?? row) - row);
  const usual = lengths.toSorted((a, b) => a - b)[lengths.length >> 1] ?? 0;
  const byRow: number[][] = Array.from({ length: rows }, () => []);
  changes.forEach((changed, column) => {
    for (const row of changed) byRow[row]?.push(column);
  });
  const places: number[] = [];
  let round = 0;
  beats.forEach((start, i) => {
    const next = beats[i + 1] ?? rows;
    const count = roundsWithin(byRow, start, next);
    // The file begins and ends somewhere within a round: those two are as long as the others, and partly outside.
    const isEdge = i === 0 || next === rows;
    const length = isEdge ? Math.max((next - start) / count, usual) : (next - start) / count;
    const missing = i === 0 ? count * length - (next - start) : 0;
    for (let row = start; row < next; row++) places.push(round + (missing + row - start) / length);
    round += count;
  });
  return places;
}

/** At least how many rounds lie between two beats: no column is read twice in one. */
function roundsWithin(byRow: readonly (readonly number[])[], start: number, next: number): number {
  let rounds = 1;
  let seen = new Set<number>();
  for (let row = start + 1; row < next; row++) {
    const now = byRow[row] ?? [];
    const again = now.filter((column) => seen.has(column));
    if (again.length > 0) {
      rounds += 1;
      // The others of this row may have been the last of the old round: only these are surely of the new one.
      seen = new Set(again);
    } else for (const column of now) seen.add(column);
  }
  return rounds;
}

/** The column's changes, with the unchanged readings between and after them. */
function fill(changed: readonly number[], places: readonly number[]): number[] {
  const placeOf = (row: number): number => places[row] ?? 0;
  // What stands in the first row was read at some time before it, so it says nothing of when the column is read.
  const offset = offsetOf(changed.slice(1).map(placeOf));
  const readings = [0];
  let row = 0;
  // Within a row of either end of the file a reading may as well lie outside, and is not assumed.
  let round = Math.floor(placeOf(1) - offset);
  for (const next of [...changed.slice(1), places.length]) {
    const isEnd = next === places.length;
    const until = isEnd ? Math.floor(placeOf(next - 2) - offset) + 1 : Math.round(placeOf(next) - offset);
    for (round += 1; round < until; round++) {
      const between = nearestRow(places, round + offset, row + 1, next - 1);
      if (between < 0) break;
      readings.push(between);
      row = between;
    }
    if (!isEnd) readings.push(next);
    row = next;
    round = Math.max(round, until);
  }
  return readings;
}

/** How far into a round the column is read, 0 to 1: the mean of these places around the circle of a round. */
function offsetOf(places: readonly number[]): number {
  let x = 0;
  let y = 0;
  for (const place of places) {
    x += Math.cos(2 * Math.PI * place);
    y += Math.sin(2 * Math.PI * place);
  }
  const turn = Math.atan2(y, x) / (2 * Math.PI);
  return turn < 0 ? turn + 1 : turn;
}

/** The row within low..high whose place is nearest, or -1 where there is no such row. */
function nearestRow(places: readonly number[], place: number, low: number, high: number): number {
  if (low > high) return -1;
  const away = (row: number): number => Math.abs((places[row] ?? 0) - place);
  let row = low;
  while (row < high && away(row + 1) <= away(row)) row += 1;
  return row;
}
