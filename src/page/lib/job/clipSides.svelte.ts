import { createContext } from "svelte";
import { Beside } from "../recording/beside.svelte.ts";
import type { RecordingView } from "../recording/recording.svelte.ts";

/** The other recordings of clips that lie before and after: each is read once, however many clips are of it. */
export class ClipSides {
  readonly #beside: Beside;
  /** Which files each clip in sight is of. */
  #wanted: readonly { readonly clip: string; readonly files: readonly string[] }[] = [];

  constructor(open: (file: string) => RecordingView) {
    this.#beside = new Beside(open);
  }

  get(file: string): RecordingView | undefined {
    return this.#beside.get(file);
  }

  /** Until the clip is gone, which tells it with no files. */
  want(clip: string, files: readonly string[]): void {
    const others = this.#wanted.filter((one) => one.clip !== clip);
    this.#wanted = files.length === 0 ? others : [...others, { clip, files }];
    const all = this.#wanted.flatMap((one) => one.files);
    this.#beside.want(all.filter((file, i) => all.indexOf(file) === i));
  }
}

/** Those of the sheet that is shown, handed down to its clips. */
export const [useClipSides, provideClipSides] = createContext<ClipSides>();
