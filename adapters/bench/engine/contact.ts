import type { Random } from "../random.ts";

/** A loose contact: open in bursts of 0.1 to 0.5 s, for a given share of the time. */
export class Contact {
  open = false;
  #leftS = 0;

  step(dt: number, share: number, random: Random): void {
    if (share <= 0 || share >= 1) {
      this.open = share >= 1;
      this.#leftS = 0;
      return;
    }
    this.#leftS -= dt;
    if (this.#leftS > 0) return;
    this.open = !this.open;
    const burst = 0.1 + 0.4 * random.next();
    this.#leftS = this.open ? burst : (burst * (1 - share)) / share;
  }
}
