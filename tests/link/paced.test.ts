import { expect, test } from "vitest";
import { pacedClock, VirtualClock } from "../../adapters/link/index.ts";
import type { Clock } from "../../shared/clock.ts";

/** A system that is so busy that every timer is called late. */
function lateClock(inner: VirtualClock, lateMs: number): Clock {
  return {
    now: () => inner.now(),
    wall: () => inner.wall(),
    after: (ms, act) => inner.after(ms + lateMs, act),
  };
}

test("a chain of short waits comes before the time-out that it beats, on a busy machine too", () => {
  const system = new VirtualClock();
  const clock = pacedClock(lateClock(system, 25));
  const called: string[] = [];
  const step = (left: number): void => {
    if (left === 0) called.push(`reply at ${clock.now()}`);
    else clock.after(2, () => step(left - 1));
  };
  step(10);
  clock.after(30, () => called.push(`time-out at ${clock.now()}`));
  system.advance(1000);
  expect(called).toEqual(["reply at 20", "time-out at 30"]);
});

test("a timer that the system calls early waits out its time", () => {
  const system = new VirtualClock();
  const early: Clock = {
    now: () => system.now(),
    wall: () => system.wall(),
    after: (ms, act) => system.after(ms / 2, act),
  };
  const clock = pacedClock(early);
  let at = -1;
  clock.after(8, () => (at = system.now()));
  system.advance(20);
  expect(at).toBeGreaterThanOrEqual(7.99);
});

test("what was cancelled is never called, and leaves no timer behind", () => {
  const system = new VirtualClock();
  const clock = pacedClock(system);
  const cancel = clock.after(5, () => expect.unreachable());
  clock.after(3, cancel);
  system.advance(100);
  expect(system.pending).toBe(0);
});
