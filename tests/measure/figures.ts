/** Median of the times that `work` takes, milliseconds, after one run that is not counted. */
export async function medianMs(runs: number, work: () => unknown): Promise<number> {
  await work();
  const times: number[] = [];
  for (let i = 0; i < runs; i++) {
    const from = performance.now();
    await work();
    times.push(performance.now() - from);
  }
  return quantile(times, 0.5);
}

/** Linear between the order statistics. */
export function quantile(values: readonly number[], q: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  const at = q * (sorted.length - 1);
  const low = sorted[Math.floor(at)] ?? Number.NaN;
  const high = sorted[Math.ceil(at)] ?? Number.NaN;
  return low + (high - low) * (at - Math.floor(at));
}

/** One line: what, how much, the floor, and the ratio of the two. */
export function line(what: string, ms: number, floor: { readonly what: string; readonly ms: number }): void {
  const ratio = (ms / floor.ms).toFixed(2);
  process.stdout.write(
    `  ${what.padEnd(52)} ${ms.toFixed(1).padStart(9)} ms   ${ratio} x ${floor.what} (${floor.ms.toFixed(1)} ms)\n`,
  );
}
