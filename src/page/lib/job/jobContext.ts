import { pageClock } from "../app/clock.ts";
import { JobApi } from "./jobApi.ts";
import { JobDesk, lastingDesk } from "./jobDesk.svelte.ts";
import { JobKeep } from "./jobKeep.ts";
import { newId } from "../app/newId.ts";
import { othersOf } from "../connection/pagesAlive.ts";

let desk: JobDesk | null = null;
let readsAlone = (): boolean => false;

/** `reads`: the page is that of a device of the network, which the program says once it has been reached. */
export function deskReads(reads: () => boolean): void {
  readsAlone = reads;
}

/** The page's one job desk; the job that was opened last opens with it. */
export function useDesk(): JobDesk {
  if (desk === null) {
    const api = new JobApi(document.baseURI, () => readsAlone());
    desk = lastingDesk(() => new JobDesk(api, pageClock, keep()));
    void desk.begin();
  }
  return desk;
}

function keep(): JobKeep {
  const page = newId();
  // A page that came over plain HTTP from elsewhere has no locks.
  const locks = "locks" in navigator ? navigator.locks : undefined;
  return new JobKeep(() => localStorage, page, othersOf(page, locks));
}
