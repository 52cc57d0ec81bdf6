/** The job that lies open on the laptop, followed by a device that came over the network. */
import type { Clock } from "../../../../shared/clock.ts";
import type { JobDesk } from "./jobDesk.svelte.ts";

const lookEveryMs = 4000;

/** Looks which job was opened last, and has it open here too, or none; returns what stops it. */
export function followJob(desk: JobDesk, clock: Clock): () => void {
  let stop: (() => void) | null = null;
  let over = false;
  const look = async (): Promise<void> => {
    await desk.followLast();
    if (!over) stop = clock.after(lookEveryMs, () => void look());
  };
  void look();
  return () => {
    over = true;
    stop?.();
  };
}
