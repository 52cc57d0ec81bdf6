import type { Marks } from "../marks/marks.svelte.ts";
import type { Playback } from "./playback.svelte.ts";
import type { RecordingView } from "./recording.svelte.ts";
import type { View } from "../chart/view.svelte.ts";

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
