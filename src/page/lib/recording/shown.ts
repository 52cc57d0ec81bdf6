import type { Clock } from "../../../../shared/clock.ts";
import type { Frames } from "../chart/index.ts";
import { View } from "../chart/view.svelte.ts";
import type { Outbox } from "../app/outbox.svelte.ts";
import type { Unsaved } from "../marks/markList.ts";
import { Marks } from "../marks/marks.svelte.ts";
import { Playback } from "./playback.svelte.ts";
import type { RecordingView } from "./recording.svelte.ts";

export type Screen = "hookup" | "chart";
/** What stands on the chart's paper. */
export type Sheet = "lanes" | "cranks" | "mixture" | "table";

/** A recording that is on the screen, with how it is looked at. */
export interface Shown {
  readonly recording: RecordingView;
  readonly view: View;
  readonly marks: Marks;
  readonly playback: Playback;
}

interface ShownHow {
  readonly clock: Clock;
  readonly frames: Frames;
  /** How long a stretch is in view while it is live, milliseconds. */
  readonly spanMs: number;
  readonly marks: Outbox<Unsaved>;
  readonly say: (text: string) => void;
}

/** A recording made ready to be looked at and marked. */
export function shownOn(how: ShownHow, recording: RecordingView): Shown {
  const view = new View(recording, how.spanMs, how.clock);
  const marks = new Marks(recording, how.marks, how.say);
  return { recording, view, marks, playback: new Playback(view, () => recording.end, how) };
}
