import { createContext } from "svelte";
import { Beside } from "./beside.svelte.ts";
import type { RecordingView } from "./recording.svelte.ts";

/** The other recordings of clips that lie before and after: each is read once, however many clips are of it. */
export class ClipSides {
  readonly #beside: Beside;
  /** Which files each clip in sight is of. */
  readonly #wanted = new Map<string, readonly string[]>();

  constructor(open: (file: string) => RecordingView) {
    this.#beside = new Beside(open);
  }

  get(file: string): RecordingView | undefined {
    return this.#beside.get(file);
  }

  /** Until the clip is gone, which tells it with no files. */
  want(clip: string, files: readonly string[]): void {
    if (files.length === 0) this.#wanted.delete(clip);
    else this.#wanted.set(clip, files);
    this.#beside.want([...new Set([...this.#wanted.values()].flat())]);
  }
}

/** Those of the sheet that is shown, handed down to its clips. */
export const [useClipSides, provideClipSides] = createContext<ClipSides>();
