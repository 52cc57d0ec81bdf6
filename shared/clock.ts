/**
 * Time as a thing that is handed in. `adapters/link/clock.ts` has the real one, and a virtual one that
 * jumps to the next timer, for tests and for the bench vehicle's file mode.
 */
export interface Clock {
  /** Milliseconds on a monotonic scale; only differences mean anything. */
  now(): number;
  /** Wall time, for the header of a recording. Milliseconds since 1970 UTC. */
  wall(): number;
  /** Calls back once after `ms`; returns what cancels it. */
  after(ms: number, callback: () => void): () => void;
}

/** Resolves after `ms` on the given clock. */
export function pause(clock: Clock, ms: number): Promise<void> {
  return new Promise((resolve) => {
    clock.after(ms, resolve);
  });
}
