import type { Regime } from "../../../../shared/ranges.ts";
import { signBandAt } from "./index.ts";
import type { Shown } from "../recording/shown.ts";
import type { RangeHere } from "./usual.ts";

/** What is plausible for a channel at a time, milliseconds, and the regime of that time. */
export interface Here {
  readonly channel: string;
  readonly regime: Regime | null;
  readonly time: number;
}

/** As worked out for a sign, else by the vehicle's ranges, else by whoever defined the channel. */
export function rangeHere({ recording }: Shown, { channel, regime, time }: Here): RangeHere | null {
  if (regime === null) return null;
  const range = generalHere(recording, channel, regime);
  const sign = signBandAt(recording.signBands, channel, time);
  if (sign === undefined) return range;
  return {
    low: sign.low ?? range?.low ?? null,
    high: sign.high ?? range?.high ?? null,
    source: sign.source,
  };
}

function generalHere(recording: Shown["recording"], channel: string, regime: Regime): RangeHere | null {
  const range = recording.ranges.channel(channel, regime);
  if (range !== null) return range;
  const { defined } = recording.calm.reading.info(channel);
  return defined?.plausible === undefined ? null : { ...defined.plausible, source: defined.source };
}
