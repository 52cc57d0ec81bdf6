import type { Clock } from "../../../../shared/clock.ts";
import type { Frames } from "../chart/index.ts";
import type { View } from "../chart/view.svelte.ts";

export const playRates = [0.25, 0.5, 1, 2, 4, 8, 16] as const;

/** Plays a recording back: the cursor moves as time did, so many times as fast. */
export class Playback {
  readonly #view: View;
  readonly #end: () => number;
  readonly #clock: Clock;
  readonly #frames: Frames;
  #rate = $state(1);
  #last = 0;

  constructor(view: View, end: () => number, { clock, frames }: { clock: Clock; frames: Frames }) {
    this.#view = view;
    this.#end = end;
    this.#clock = clock;
    this.#frames = frames;
  }

  get rate(): number {
    return this.#rate;
  }

  set rate(rate: number) {
    this.#rate = Math.min(Math.max(rate, playRates[0]), 16);
  }

  get playing(): boolean {
    return this.#view.playing;
  }

  /** The next faster or slower rate. */
  change(by: 1 | -1): void {
    const at = playRates.findIndex((rate) => rate >= this.#rate);
    this.rate = playRates[at + by] ?? this.#rate;
  }

  toggle(): void {
    if (this.playing) {
      this.stop();
      return;
    }
    // At the end there is nothing left to play: from the beginning, then.
    if (this.#view.readingTime >= this.#end() - 1) this.#view.playTo(0);
    this.#view.playing = true;
    this.#last = this.#clock.now();
    this.#frames.update(this.#step);
  }

  stop(): void {
    this.#view.playing = false;
  }

  readonly #step = (): void => {
    const { pinned, readingTime } = this.#view;
    // Whoever lets go of the cursor stops it.
    if (!this.playing || !pinned) {
      this.stop();
      return;
    }
    const now = this.#clock.now();
    const end = this.#end();
    const t = Math.min(end, readingTime + (now - this.#last) * this.#rate);
    this.#last = now;
    this.#view.playTo(t);
    if (t >= end) this.stop();
    else this.#frames.update(this.#step);
  };
}
