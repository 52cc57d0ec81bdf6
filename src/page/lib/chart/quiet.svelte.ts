import { abbreviationOf } from "../../../../shared/abbreviations.ts";
import type { Regime } from "../../../../shared/ranges.ts";
import { engineOf } from "../app/posture.ts";
import type { Page } from "../app/page.svelte.ts";
import type { Shown } from "../recording/shown.ts";
import { givesWay } from "./crankScale.ts";
import { channelOf, quietLanes, seriesOf, type LaneSet } from "./lanes.ts";

const turns = (regime: Regime): boolean => regime === "cranking" || regime === "no-speed";

/** Lanes that cannot say anything yet, while the chart has the room for those that can. */
export class QuietLanes {
  readonly #page: Page;
  readonly #of: () => { readonly shown: Shown; readonly folds: boolean };
  #unfolded = $state(false);
  readonly lanes: LaneSet = $derived.by(() => this.#quietNow());
  /** What stands on the paper: the same lanes as arranged where none is quiet. */
  readonly others: LaneSet = $derived.by(() =>
    this.lanes.length === 0
      ? this.#page.lanes.now
      : this.#page.lanes.now.filter((lane) => !this.lanes.includes(lane)),
  );

  constructor(page: Page, of: () => { readonly shown: Shown; readonly folds: boolean }) {
    this.#page = page;
    this.#of = of;
  }

  get names(): string {
    const { reading } = this.#of().shown.recording.calm;
    return this.lanes
      .flat()
      .map((entry) => abbreviationOf(channelOf(entry)) ?? reading.info(channelOf(entry)).short)
      .join(", ");
  }

  unfold = (): void => {
    this.#unfolded = true;
  };

  #quietNow(): LaneSet {
    const { shown, folds } = this.#of();
    if (!folds || this.#unfolded) return [];
    const { recording, view } = shown;
    const ran = recording.spans.some(({ regime }) => engineOf(regime) === "motion" && !turns(regime));
    const { channels } = recording.calm.reading;
    const read = (entry: string): boolean => (seriesOf(channels, entry)?.answered ?? 0) > 0;
    const lanes = this.#page.lanes.now;
    const silent = quietLanes(lanes, { ran, read });
    const found = lanes.filter((lane) => silent.includes(lane) || (view.cranking && givesWay(lane)));
    // Something is always on the paper.
    return found.length === lanes.length ? [] : found;
  }
}
