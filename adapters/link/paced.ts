import type { Clock } from "../../shared/clock.ts";
import { VirtualClock } from "./clock.ts";

/**
 * A clock for something simulated that runs in real time: its timers are called in the order they are due, and
 * each sees the time it was due at. A busy machine then delays what is simulated, but never changes its course;
 * on the system's own timers a time-out set once would overtake a reply that is a chain of short waits.
 */
export function pacedClock(real: Clock): Clock {
  const origin = real.now();
  const inner = new VirtualClock(real.wall());
  let firing = false;
  const elapsed = (): number => real.now() - origin;
  const now = (): number => (firing ? inner.now() : Math.max(inner.now(), elapsed()));
  const catchUp = (): void => {
    if (firing) return;
    firing = true;
    try {
      inner.advance(Math.max(0, elapsed() - inner.now()));
    } finally {
      firing = false;
    }
  };
  return {
    now,
    wall: () => inner.wall() - inner.now() + now(),
    after: (ms, callback) => {
      const due = now() + Math.max(0, ms);
      let open = true;
      let cancelWake: () => void;
      const cancelInner = inner.after(due - inner.now(), () => {
        open = false;
        cancelWake();
        callback();
      });
      // The system may wake a little early; then it is asked again.
      const wake = (): void => {
        catchUp();
        if (open) cancelWake = real.after(Math.max(0, due - elapsed()), wake);
      };
      cancelWake = real.after(Math.max(0, due - elapsed()), wake);
      return () => {
        open = false;
        cancelInner();
        cancelWake();
      };
    },
  };
}
