import { lanesFor, type LaneSet } from "./lanes.ts";

/** Lanes that a sign put on the chart for as long as it is looked at, and what stood there before. */
export class LentLanes {
  #before: LaneSet | null = null;
  #lent = $state(false);

  get any(): boolean {
    return this.#lent;
  }

  /** The lanes to show so that these channels are seen; null where they are already. */
  lend(
    channels: readonly string[],
    now: { readonly possible: readonly string[]; readonly shown: LaneSet; readonly own: LaneSet | null },
  ): LaneSet | null {
    const there = now.shown.flat();
    const wanted = channels.filter((channel) => now.possible.includes(channel));
    if (wanted.every((channel) => there.includes(channel))) return null;
    if (!this.#lent) this.#before = now.own;
    this.#lent = true;
    return lanesFor(wanted, now.shown);
  }

  /** What the person had arranged before; null for the usual lanes. */
  back(): LaneSet | null {
    this.#lent = false;
    return this.#before;
  }
}
