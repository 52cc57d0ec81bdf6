/** Whether a log repeats in each row what was read earlier, told by how seldom its values change. */

/** Of the rows in which anything moves nearby, the liveliest column changes in fewer than this where values are held. */
const heldBelow = 0.6;
/** Rows around one in which nothing moves that say nothing: the engine stands. */
const stillRows = 30;
const fewestRows = 40;

/** `columns` are numbers by column and row, NaN where there is none. */
export function looksHeld(columns: readonly (readonly number[])[]): boolean {
  const rows = Math.max(0, ...columns.map((column) => column.length));
  // One column alone, or few rows, do not show it.
  if (columns.filter(hasChanges).length < 3 || rows < fewestRows) return false;
  // Cells that are empty until they are read are not held; those of the beginning may be.
  const gaps = columns.filter(hasChanges).some((column) => emptyInside(column) > rows / 4);
  if (gaps) return false;
  const changes = columns.map((column) =>
    column.map((value, row) => row > 0 && !Object.is(value, column[row - 1])),
  );
  const moved: number[] = [];
  for (let row = 0; row < rows; row++) if (changes.some((column) => column[row] === true)) moved.push(row);
  let last = Number.NEGATIVE_INFINITY;
  let lively = 0;
  for (const row of moved) {
    lively += Math.min(row - last, stillRows);
    last = row;
  }
  const most = Math.max(...changes.map((column) => column.filter(Boolean).length));
  return moved.length > 5 && most / lively < heldBelow;
}

function hasChanges(column: readonly number[]): boolean {
  const first = column.find((value) => !Number.isNaN(value));
  return first !== undefined && column.some((value) => !Number.isNaN(value) && value !== first);
}

/** Rows without a number behind the first one with one. */
function emptyInside(column: readonly number[]): number {
  const from = column.findIndex((value) => !Number.isNaN(value));
  return from < 0 ? 0 : column.slice(from).filter((value) => Number.isNaN(value)).length;
}
