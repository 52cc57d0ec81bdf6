import type { Random } from "../random.ts";

/** A loose contact: open in bursts of 0.1 to 0.5 s, for a given share of the time. */
export class Contact {
  open = false;
  /** A hand moves it to and fro: what is loose opens for half of the time and more; what is sound or cut stays so. */
  wiggled = false;
  #leftS = 0;

  step(dt: number, loose: number, random: Random): void {
    const share = this.wiggled && loose > 0 && loose < 1 ? 0.5 + 0.4 * loose : loose;
    if (share <= 0 || share >= 1) {
      this.open = share >= 1;
      this.#leftS = 0;
      return;
    }
    if (this.open) {
      this.#leftS -= dt;
      if (this.#leftS <= 0) this.open = false;
      return;
    }
    // A chance a step that makes the share come out, with bursts of 0.3 s on the mean.
    if (random.next() * 0.3 * (1 - share) > share * dt) return;
    this.open = true;
    this.#leftS = 0.1 + 0.4 * random.next();
  }
}
