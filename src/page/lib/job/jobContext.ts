import { pageClock } from "../app/clock.ts";
import { JobApi } from "./jobApi.ts";
import { JobDesk, lastingDesk } from "./jobDesk.svelte.ts";
import { noKeep, StorageKeep, type Keep } from "./jobKeep.ts";
import { newId } from "./jobPut.ts";
import { othersOf } from "../connection/pagesAlive.ts";

let desk: JobDesk | null = null;
/** Known only when the program has said who this page is, which may be after the desk was made. */
let readsAlone = false;

/** The page's one job desk; the job that was opened last opens with it. `reads`: for a device of the network. */
export function useDesk(reads = false): JobDesk {
  readsAlone ||= reads;
  if (desk === null) {
    desk = lastingDesk(() => new JobDesk(new JobApi(document.baseURI, () => readsAlone), pageClock, keep()));
    void desk.begin();
  }
  return desk;
}

function keep(): Keep {
  try {
    const page = newId();
    // A page that came over plain HTTP from elsewhere has no locks.
    const locks = "locks" in navigator ? navigator.locks : undefined;
    return new StorageKeep(localStorage, page, othersOf(page, locks));
  } catch {
    // The browser was told to keep nothing.
    return noKeep;
  }
}
