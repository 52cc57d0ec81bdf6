import type { Regime } from "../../../shared/ranges.ts";
import type { Shown } from "./shown.ts";
import type { RangeHere } from "./usual.ts";

/** What is plausible for a channel in a regime: by the vehicle's ranges, else by whoever defined the channel. */
export function rangeHere({ recording }: Shown, channel: string, regime: Regime | null): RangeHere | null {
  if (regime === null) return null;
  const range = recording.ranges.channel(channel, regime);
  if (range !== null) return range;
  const { defined } = recording.calm.reading.info(channel);
  return defined?.plausible === undefined ? null : { ...defined.plausible, source: defined.source };
}
