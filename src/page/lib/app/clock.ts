import type { Clock } from "../../../../shared/clock.ts";

/** The page's one source of time. */
export const pageClock: Clock = {
  now: () => performance.now(),
  wall: () => Date.now(),
  after(ms, callback) {
    const handle = setTimeout(callback, ms);
    return () => clearTimeout(handle);
  },
};
