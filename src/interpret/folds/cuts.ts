import type { Regime } from "../../../shared/ranges.ts";

/** `from` inclusive, `to` exclusive, milliseconds since the start. */
export interface RegimeSpan {
  readonly from: number;
  readonly to: number;
  readonly regime: Regime;
}

/** From this instant on. */
export interface Cut {
  readonly from: number;
  readonly regime: Regime;
}

/** Where one regime ends and the next begins: contiguous from 0 on. */
export class Cuts {
  readonly #cuts: Cut[] = [{ from: 0, regime: "silent" }];

  /** From this instant on `regime` holds; what was said of later instants is withdrawn. */
  set({ from, regime }: Cut): void {
    const cuts = this.#cuts;
    while (cuts.length > 0 && (cuts.at(-1)?.from ?? 0) >= from) cuts.pop();
    if (cuts.at(-1)?.regime !== regime) cuts.push({ from: cuts.length === 0 ? 0 : from, regime });
  }

  spans(until: number): RegimeSpan[] {
    const spans: RegimeSpan[] = [];
    for (let i = 0; i < this.#cuts.length; i++) {
      const cut = this.#cuts[i];
      if (cut === undefined || cut.from >= until) break;
      const to = Math.min(this.#cuts[i + 1]?.from ?? until, until);
      if (to > cut.from) spans.push({ from: cut.from, to, regime: cut.regime });
    }
    return spans;
  }

  placeOf(t: number, index: number): { index: number; from: number; regime: Regime } {
    let i = index;
    while ((this.#cuts[i + 1]?.from ?? Number.POSITIVE_INFINITY) <= t) i += 1;
    return { index: i, from: this.#cuts[i]?.from ?? 0, regime: this.#cuts[i]?.regime ?? "silent" };
  }
}
