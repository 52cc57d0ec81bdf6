import type { RecordingView } from "./recording.svelte.ts";

/** Other recordings that are looked at beside the one that is shown: opened when they are wanted, closed when not. */
export class Beside {
  readonly #open: (file: string) => RecordingView;
  #views: readonly RecordingView[] = $state.raw([]);

  constructor(open: (file: string) => RecordingView) {
    this.#open = open;
  }

  get(file: string): RecordingView | undefined {
    return this.#views.find((view) => view.file === file);
  }

  /** Just these, and no others. */
  want(files: readonly string[]): void {
    const before = this.#views;
    if (files.length === before.length && files.every((file, i) => before[i]?.file === file)) return;
    const views = files.map((file) => before.find((view) => view.file === file) ?? this.#open(file));
    for (const view of views) if (!before.includes(view)) void view.catchUp();
    for (const view of before) if (!views.includes(view)) view.close();
    this.#views = views;
  }
}
