import type { Clock } from "../../shared/clock.ts";
import type { Header } from "../../shared/recording/format.ts";
import type { Disk } from "./disk.ts";

/** Lines that are gathered are written when they come to so much, or with the next sync. */
export const gatherBytes = 64 * 1024;

export type RecordingHeader = Omit<Header, "format" | "version" | "started">;

export type RecordingPlace =
  /** A new file in this folder, named by time and `name`; a number is added where that name is taken. */
  | { readonly folder: string; readonly name?: string }
  /** Exactly this new file. */
  | { readonly file: string };

export type RecordingOptions = RecordingPlace & {
  readonly header: RecordingHeader;
  readonly clock: Clock;
  /** The clock's now() at t = 0, if that lies before this call; `startedMs` is then its wall time. */
  readonly zeroMs?: number;
  readonly startedMs?: number;
  /** Room for what the disk does not take; events beyond it are counted, and told in the file later. */
  readonly memoryBytes?: number;
  readonly disk?: Disk;
  /**
   * For a run on a clock that is faster than the real one: lines are gathered, and are on the disk itself within a
   * second of this clock. Without it each line is handed to the system as it is made.
   */
  readonly gatherBy?: Clock;
};
