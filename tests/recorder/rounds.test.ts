import fc from "fast-check";
import { expect, test } from "vitest";
import { realReadings } from "../../src/recorder/import/rounds.ts";

/**
 * A logger as it is built: it reads its columns one after the other, over and over, and writes a row of what it
 * last read at a steady pace. Returns the rows, and for each column the rows in which a new reading first stood.
 */
function logger(options: {
  readonly columns: number;
  readonly rounds: number;
  /** Rows in one round; need not be whole. */
  readonly rowsARound: number;
  /** Value of a column's reading in a round. */
  readonly value: (column: number, round: number) => number;
}): { table: number[][]; truth: number[][] } {
  const { columns, rounds, rowsARound, value } = options;
  const table: number[][] = [];
  const truth: number[][] = [];
  const rows = Math.floor((rounds - 1) * rowsARound);
  for (let column = 0; column < columns; column++) {
    const values: number[] = [];
    const read: number[] = [];
    let shown = -1;
    for (let row = 0; row < rows; row++) {
      // The first row is written when the first round is done.
      const round = Math.floor((row + rowsARound) / rowsARound - column / columns);
      if (round !== shown) read.push(row);
      shown = round;
      values.push(value(column, round));
    }
    table.push(values);
    truth.push(read);
  }
  return { table, truth };
}

/** A fixed, uneven sequence: whether column c changes in round r is as good as drawn. */
function drawn(seed: number, column: number, round: number): number {
  let x = (seed * 2654435761 + column * 40503 + round * 69069 + 1) >>> 0;
  x = (x ^ (x >>> 15)) >>> 0;
  x = Math.imul(x, 2246822519) >>> 0;
  return ((x ^ (x >>> 13)) >>> 0) / 2 ** 32;
}

test("columns that change with every reading: every reading is found, in its row", () => {
  const { table, truth } = logger({ columns: 5, rounds: 40, rowsARound: 3.68, value: (c, r) => r * 10 + c });
  expect(realReadings(table, table[0]?.length ?? 0)).toEqual(truth);
});

test("a steady column beside changing ones keeps its unchanged readings, a round apart", () => {
  const value = (c: number, r: number): number => (c === 2 ? 88 : r * 10 + c);
  const { table, truth } = logger({ columns: 5, rounds: 60, rowsARound: 3.68, value });
  const found = realReadings(table, table[0]?.length ?? 0)[2] ?? [];
  expect(Math.abs(found.length - (truth[2]?.length ?? 0))).toBeLessThanOrEqual(1);
  const gaps = found.slice(2).map((row, i) => row - (found[i + 1] ?? 0));
  expect(Math.min(...gaps)).toBeGreaterThanOrEqual(3);
  expect(Math.max(...gaps)).toBeLessThanOrEqual(5);
});

test("a held value is not a reading: whatever changes how often, there are no more readings than rounds", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 3, max: 27 }),
      fc.double({ min: 2.2, max: 6, noNaN: true }),
      fc.double({ min: 0.05, max: 1, noNaN: true }),
      fc.integer({ min: 0, max: 1e6 }),
      (columns, rowsARound, liveliness, seed) => {
        const value = (c: number, r: number): number => {
          let v = 0;
          for (let i = 1; i <= r; i++) if (drawn(seed, c, i) < liveliness) v += 1;
          return v;
        };
        const rounds = 80;
        const { table, truth } = logger({ columns, rounds, rowsARound, value });
        const found = realReadings(table, table[0]?.length ?? 0);
        found.forEach((readings, c) => {
          // One at each end of the file may be too many: the rounds there are cut.
          expect(readings.length).toBeLessThanOrEqual((truth[c]?.length ?? 0) + 2);
          // Every change is a reading.
          table[c]?.forEach((v, row) => {
            if (row > 0 && v !== table[c]?.[row - 1]) expect(readings).toContain(row);
          });
        });
      },
    ),
    { numRuns: 60 },
  );
});

test("with one column that changes every round, nearly every reading is found, good to a row", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 6, max: 27 }),
      fc.double({ min: 3, max: 6, noNaN: true }),
      fc.double({ min: 0.05, max: 1, noNaN: true }),
      fc.integer({ min: 0, max: 1e6 }),
      (columns, rowsARound, liveliness, seed) => {
        const value = (c: number, r: number): number => {
          if (c === 0) return r;
          let v = 0;
          for (let i = 1; i <= r; i++) if (drawn(seed, c, i) < liveliness) v += 1;
          return v;
        };
        const { table, truth } = logger({ columns, rounds: 100, rowsARound, value });
        const found = realReadings(table, table[0]?.length ?? 0);
        found.forEach((readings, c) => {
          const real = truth[c] ?? [];
          expect(Math.abs(readings.length - real.length)).toBeLessThanOrEqual(2);
          // When a column that never changes was read within the round, nothing tells.
          if (table[c]?.every((v) => v === table[c]?.[0]) === true) return;
          const far = readings.filter((row) => !real.some((r) => Math.abs(r - row) <= 1));
          expect(far.length).toBeLessThanOrEqual(2);
        });
      },
    ),
    { numRuns: 60 },
  );
});

test("where nothing changes there is no sign of a round, and no reading is assumed", () => {
  const still = Array.from({ length: 3 }, () => new Array<number>(50).fill(7));
  expect(realReadings(still, 50)).toEqual([[0], [0], [0]]);
});

test("a column without values has no readings, and a value that comes back is one", () => {
  const nothing = new Array<number>(6).fill(Number.NaN);
  const back = [1, Number.NaN, Number.NaN, 1, 1, 1];
  expect(realReadings([nothing, back], 6)).toEqual([[], [0, 3]]);
});
