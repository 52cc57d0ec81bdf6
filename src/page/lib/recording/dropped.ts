/** Files from elsewhere, picked or dropped on the page: who takes which, by its name. */

export interface Taker {
  /** What it takes, as in a list: "recordings (.ndjson, .ndjson.gz)". */
  readonly what: string;
  /** Endings as a file picker wants them. */
  readonly endings: readonly string[];
  /** Rejects with the reason where the file is not taken. */
  take(file: File): Promise<void>;
}

/** The first that takes a file of this name; one with an empty ending takes any. */
export function takerOf(takers: readonly Taker[], name: string): Taker | null {
  const lower = name.toLowerCase();
  return takers.find(({ endings }) => endings.some((ending) => lower.endsWith(ending))) ?? null;
}
