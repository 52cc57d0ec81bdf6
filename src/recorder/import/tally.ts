/** Counts what is wrong with a table, so that each kind of defect is told once, with its first line. */
export class Tally {
  readonly #found = new Map<
    string,
    { count: number; line: number; tell: (count: number, line: number) => string }
  >();

  /** `tell` makes the sentence from how often it was met and the line of the file where it was met first. */
  add(key: string, line: number, tell: (count: number, line: number) => string): void {
    const found = this.#found.get(key);
    if (found === undefined) this.#found.set(key, { count: 1, line, tell });
    else found.count += 1;
  }

  get notices(): string[] {
    return [...this.#found.values()].map((f) => f.tell(f.count, f.line));
  }
}

/** "1 row", "3 rows". */
export function counted(count: number, one: string): string {
  return `${count} ${one}${count === 1 ? "" : "s"}`;
}

export function mostFrequent(numbers: readonly number[]): number {
  const counts = new Map<number, number>();
  let best = 0;
  for (const n of numbers) {
    const count = (counts.get(n) ?? 0) + 1;
    counts.set(n, count);
    if (count > (counts.get(best) ?? 0)) best = n;
  }
  return best;
}
