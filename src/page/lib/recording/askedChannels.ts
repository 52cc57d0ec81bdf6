import type { Settings } from "../app/settings.ts";
import { channelOf, channelsOf, lanesWithin } from "../chart/lanes.ts";

/** As many as one message takes. */
const most = 64;

export interface AskedChannels {
  readonly channels: string[];
  readonly pinned: string[];
}

/** What the vehicle is asked for: what stands in own lanes (nothing stands for the usual), and what of it more often. */
export function askedChannels(
  { lanes, pinned }: Pick<Settings, "lanes" | "pinned">,
  possible: readonly string[],
): AskedChannels {
  const channels = lanes === null ? [] : channelsOf(lanesWithin(lanes, possible)).slice(0, most);
  const there = new Set(lanes === null ? possible : channels);
  return { channels, pinned: pinned.filter((channel) => there.has(channel)).slice(0, most) };
}

/** With the channel of this lane entry asked more often, or as often as the others again. */
export function withPin(pinned: readonly string[], entry: string): string[] {
  const channel = channelOf(entry);
  return pinned.includes(channel) ? pinned.filter((other) => other !== channel) : [...pinned, channel];
}
