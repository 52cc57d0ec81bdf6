import type { RecordingEvent } from "./format.ts";

/** Where events go: a recording file, or memory. The one who appends gives `t` as clock.now() - zeroMs. */
export interface EventSink {
  /** The clock's now() at t = 0. */
  readonly zeroMs: number;
  /** Never throws for a full disk and the like: the recorder reports that on its own channel. */
  append(event: RecordingEvent): void;
}
