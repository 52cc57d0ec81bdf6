/** Pages of ours in this browser, told apart by a lock that each holds for as long as it is there. */
import type { Others } from "../job/jobKeep.ts";

const start = "crankside-page-";

/** Holds this page's lock until the page is gone, however it goes. */
export function othersOf(page: string, locks: LockManager | undefined): Others {
  // The promise never settles: the browser lets the lock go with the page.
  const held = locks?.request(start + page, () => new Promise<never>(() => undefined));
  held?.catch(() => undefined);
  return {
    alive: async () => {
      // Without locks, or where they are refused as storage is, nobody can be told apart from one who is gone; what is
      // saved twice is kept once.
      const state = await locks?.query().catch(() => undefined);
      const names = (state?.held ?? []).map((lock) => lock.name ?? "");
      return new Set(names.filter((name) => name.startsWith(start)).map((name) => name.slice(start.length)));
    },
  };
}
