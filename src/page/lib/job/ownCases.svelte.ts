import { casesSchema, type CaseList } from "../../../../shared/found.ts";
import type { OwnCases } from "../../../interpret/causes/own.ts";
import { toldAt } from "../app/leave.ts";
import type { Settings } from "../app/settings.ts";

/** Own proved cases, asked for once while causes are looked at. Without them the tables stand alone. */
export class OwnCaseList {
  readonly #place: string;
  #cases: CaseList = $state.raw([]);
  #asked = false;
  /** The same as long as nothing has changed: who weighs it can tell. */
  #last: { readonly from: CaseList; readonly job: string | null; readonly own: OwnCases } | null = null;

  constructor(place: string) {
    this.#place = place;
  }

  get count(): number {
    return this.#cases.length;
  }

  /** What counts beside the tables; undefined where nothing does. The open job is no case of its own. */
  counted({ ownCases, ownWorth }: Settings, job: string | null): OwnCases | undefined {
    this.#ask();
    if (!ownCases) return undefined;
    const last = this.#last;
    if (last?.from === this.#cases && last.job === job && last.own.worth === ownWorth) return last.own;
    const own = {
      cases: this.#cases.filter((one) => one.job === undefined || one.job !== job),
      worth: ownWorth,
    };
    this.#last = { from: this.#cases, job, own };
    return own;
  }

  #ask(): void {
    if (this.#asked) return;
    this.#asked = true;
    void this.#fetched();
  }

  /** A page that came over the network is not told of jobs: the tables are as good there. */
  async #fetched(): Promise<void> {
    const told = await toldAt(this.#place, casesSchema);
    if (told !== null) this.#cases = told.cases;
  }
}
