import type { BeforeAfter } from "../../../interpret/causes/beforeAfterSchema.ts";
import { outcomeWords } from "../../../interpret/report/text.ts";
import { pause } from "../../../../shared/clock.ts";
import { Beside } from "../recording/beside.svelte.ts";
import type { RecordingView } from "../recording/recording.svelte.ts";
import type { Page } from "../app/page.svelte.ts";
import type { Shown } from "../recording/shown.ts";
import type { AroundChange } from "./usualSides.ts";
import { clockText } from "../app/words.ts";

/** A stretch of a recording that can be chosen: the whole, a crank, a marked stretch, what is seen. */
export interface StretchChoice {
  readonly words: string;
  readonly from?: number;
  readonly to?: number;
}

export type Which = "before" | "after";

/** Where the stretches around a change stand in the list of stretches. */
const aroundPlaces: Readonly<Record<Which, number>> = { before: 1, after: 2 };

interface Choice {
  readonly file: string;
  /** Place in the list of stretches. */
  readonly stretch: number;
}

/** Two recordings, or two stretches, that are chosen to be laid side by side. */
export class Sides {
  readonly #page: Page;
  readonly #shown: () => Shown;
  readonly #changed: () => AroundChange | null;
  readonly #beside: Beside;
  #before: Choice = $state.raw({ file: "", stretch: 0 });
  #after: Choice = $state.raw({ file: "", stretch: 0 });
  #result: BeforeAfter | null = $state.raw(null);
  #busy = $state(false);

  /** `changed`: what lies around the changes that were made while the shown one was recorded. */
  constructor(page: Page, shown: () => Shown, changed: () => AroundChange | null) {
    this.#page = page;
    this.#shown = shown;
    this.#changed = changed;
    this.#beside = new Beside(page.beside);
    const { file } = shown().recording;
    this.#before = { file, stretch: 0 };
    this.#after = { file, stretch: 0 };
  }

  /** Both sides are one and the same stretch: there is nothing to compare. */
  get same(): boolean {
    return this.#before.file === this.#after.file && this.#before.stretch === this.#after.stretch;
  }

  get result(): BeforeAfter | null {
    return this.#result;
  }

  get busy(): boolean {
    return this.#busy;
  }

  choice(which: Which): Choice {
    return which === "before" ? this.#before : this.#after;
  }

  choose(which: Which, choice: Choice): void {
    if (which === "before") this.#before = choice;
    else this.#after = choice;
    this.#result = null;
    const { file } = this.#shown().recording;
    const wanted = [this.#before.file, this.#after.file].filter((f) => f !== file);
    this.#beside.want(wanted.filter((f, i) => wanted.indexOf(f) === i));
  }

  /** Both sides from the recording that is shown; false where nothing that helped was changed in it. */
  chooseAroundChange(): boolean {
    if (this.#changed() === null) return false;
    const { file } = this.#shown().recording;
    this.choose("before", { file, stretch: aroundPlaces.before });
    this.choose("after", { file, stretch: aroundPlaces.after });
    return true;
  }

  /** Read whole enough to be compared. */
  ready(which: Which): boolean {
    return (this.#view(which)?.findings ?? null) !== null;
  }

  stretches(which: Which): readonly StretchChoice[] {
    const view = this.#view(which);
    const shown = this.#shown();
    const seen = shown.view.stretch;
    const around = view === shown.recording ? this.#changed() : null;
    const span = (from: number, to: number): string => `${clockText(from)} to ${clockText(to)}`;
    return [
      { words: "the whole recording" },
      ...(around === null
        ? []
        : [
            { words: `before the change, up to ${clockText(around.before.to)}`, ...around.before },
            { words: `since the change, from ${clockText(around.after.from)}`, ...around.after },
          ]),
      ...(view === shown.recording
        ? [{ words: `the stretch in view, ${span(Math.max(0, seen.from), seen.to)}`, ...seen }]
        : []),
      ...(view?.findings?.cranks ?? []).map(({ number, from, to, outcome }) => ({
        words: `crank ${number}, ${clockText(from)}, ${outcomeWords[outcome]}`,
        from,
        to,
      })),
      ...(view?.reading.marks ?? []).flatMap((mark) =>
        mark.until === undefined
          ? []
          : [{ words: `${mark.label}, ${span(mark.at, mark.until)}`, from: mark.at, to: mark.until }],
      ),
    ];
  }

  /** A side as the note calls it. */
  name(which: Which): string {
    const { file, stretch } = this.choice(which);
    const chosen = this.stretches(which)[stretch];
    return chosen === undefined || chosen.from === undefined ? file : `${file}, ${chosen.words}`;
  }

  async compare(): Promise<void> {
    const before = this.#side("before");
    const after = this.#side("after");
    if (before === null || after === null || this.#busy) return;
    this.#busy = true;
    try {
      const { beforeAndAfter } = await import("../../../interpret/causes/beforeAfter.ts");
      // The button is drawn as busy before the work, which takes a moment.
      await pause(this.#page.clock, 30);
      const result = beforeAndAfter(before, after);
      // Something else was chosen meanwhile: this answers no question any more.
      if (before.name === this.name("before") && after.name === this.name("after")) this.#result = result;
    } finally {
      this.#busy = false;
    }
  }

  close(): void {
    this.#beside.want([]);
  }

  #view(which: Which): RecordingView | undefined {
    const { file } = this.choice(which);
    const { recording } = this.#shown();
    return recording.file === file ? recording : this.#beside.get(file);
  }

  #side(
    which: Which,
  ): Parameters<typeof import("../../../interpret/causes/beforeAfter.ts").beforeAndAfter>[0] | null {
    const view = this.#view(which);
    const findings = view?.findings ?? null;
    if (view === undefined || findings === null) return null;
    const chosen = this.stretches(which)[this.choice(which).stretch];
    const window =
      chosen?.from === undefined || chosen.to === undefined
        ? {}
        : { window: { from: Math.max(0, chosen.from), to: chosen.to } };
    return { name: this.name(which), channels: view.reading.channels, findings, ...window };
  }
}
