/** A stretch of time. Times are milliseconds since the recording's start. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
}

/** Place of a time between 0 (left edge) and 1 (right edge), and beyond. */
export function partOf(t: number, { from, to }: Stretch): number {
  return (t - from) / (to - from);
}

export function timeAt(part: number, { from, to }: Stretch): number {
  return from + part * (to - from);
}
