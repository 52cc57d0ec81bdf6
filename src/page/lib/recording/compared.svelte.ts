import type { Crank } from "../../../interpret/report/schema.ts";
import type { RecordingView } from "./recording.svelte.ts";
import { regimeWords, type Regime } from "../../../../shared/ranges.ts";

/** Another recording whose traces lie under those of the one that is shown, with its time moved to fit. */
export class Compared {
  readonly #open: (file: string) => RecordingView;
  #recording: RecordingView | null = $state.raw(null);
  /** Added to the other recording's times, milliseconds. */
  #offset = $state(0);
  #words = $state("");

  constructor(open: (file: string) => RecordingView) {
    this.#open = open;
  }

  get recording(): RecordingView | null {
    return this.#recording;
  }

  get offset(): number {
    return this.#offset;
  }

  /** The same in seconds, as text: "2.50", and never "-0.00". */
  get seconds(): string {
    return (this.#offset / 1000).toFixed(2).replace(/^-(0\.00)$/, "$1");
  }

  /** How the two are laid over each other, for a person. */
  get words(): string {
    return this.#words;
  }

  begin(file: string): void {
    this.end();
    const recording = this.#open(file);
    this.#recording = recording;
    this.byHand(0);
    void recording.catchUp();
  }

  end(): void {
    this.#recording?.close();
    this.#recording = null;
    this.#offset = 0;
  }

  byHand(offset: number): void {
    this.#offset = Number.isFinite(offset) ? offset : 0;
    this.#words = `moved by ${this.seconds} s`;
  }

  /** The starter came on at the same time. */
  byCrank(here: Crank, there: Crank): void {
    this.#offset = here.from - there.from;
    this.#words = `crank ${there.number} laid over crank ${here.number}`;
  }

  /** The regime began at the same time, the first time that it did. Says false where one never had it. */
  byRegime(shown: RecordingView, regime: Regime): boolean {
    const begin = (view: RecordingView | null): number | undefined =>
      view?.spans.find((span) => span.regime === regime)?.from;
    const here = begin(shown);
    const there = begin(this.#recording);
    if (here === undefined || there === undefined) return false;
    this.#offset = here - there;
    this.#words = `the first ${regimeWords[regime]} laid over the first`;
    return true;
  }
}
