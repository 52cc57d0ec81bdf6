/** What stands in a cell: a number, perhaps with its unit behind it. */

export interface Cell {
  /** NaN where it holds none. */
  readonly number: number;
  /** As it stands behind the number; empty where there is none. */
  readonly unit: string;
}

/** How a number is written; anything else in a cell is text. */
const number = /^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$/;
const withUnit = /^([-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*([^\d\s.,+-].{0,15})$/;
const noCell: Cell = { number: Number.NaN, unit: "" };

export function cellOf(text: string, decimal: "." | ","): Cell {
  const plain = numberOf(text, decimal);
  if (!Number.isNaN(plain)) return { number: plain, unit: "" };
  const found = withUnit.exec(text.trim());
  if (found === null) return noCell;
  const value = numberOf(found[1] ?? "", decimal);
  return Number.isNaN(value) ? noCell : { number: value, unit: found[2] ?? "" };
}

export function numberOf(text: string, decimal: "." | ","): number {
  const plain = decimal === "," ? text.replace(",", ".") : text;
  return number.test(plain) ? Number(plain) : Number.NaN;
}

/** The sign before the decimals, by what the cells show; the comma only where it is not the separator of cells. */
export function decimalOf(cells: readonly string[], delimiter: string): "." | "," {
  let points = 0;
  let commas = 0;
  for (const cell of cells) {
    if (/^[-+]?\d*\.\d+(?:[eE][-+]?\d+)?(?!\d*[.:])/.test(cell)) points += 1;
    else if (/^[-+]?\d*,\d+(?:[eE][-+]?\d+)?(?!\d*[,:])/.test(cell)) commas += 1;
  }
  return commas > points || (commas > 0 && points === 0 && delimiter !== ",") ? "," : ".";
}
