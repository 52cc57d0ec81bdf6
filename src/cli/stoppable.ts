import type { Clock } from "../../shared/clock.ts";

/** A clock whose timers can all be let go at once, so that what waits on them does not keep the program alive. */
export function stoppable(clock: Clock): { readonly clock: Clock; stop(): void } {
  const cancels = new Set<() => void>();
  let stopped = false;
  return {
    clock: {
      now: () => clock.now(),
      wall: () => clock.wall(),
      after: (ms, callback) => {
        if (stopped) return () => undefined;
        const cancel = clock.after(ms, () => {
          cancels.delete(forget);
          callback();
        });
        const forget = (): void => {
          cancel();
          cancels.delete(forget);
        };
        cancels.add(forget);
        return forget;
      },
    },
    stop: () => {
      stopped = true;
      for (const cancel of [...cancels]) cancel();
    },
  };
}
