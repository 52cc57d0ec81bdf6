/**
 * Ranges that were worked out for a sign, such as the least volts under a starter at the temperature of that crank, as
 * they lie over the trace of its channel: chart and sheet say the same. Pure.
 */
import type { ChannelStore } from "../../../shared/channels.ts";
import type { Sign } from "../../interpret/report/schema.ts";

/** Table unit of the channel; null on a side that the sign says nothing of. */
export interface SignBand {
  readonly channel: string;
  readonly from: number;
  readonly to: number;
  readonly low: number | null;
  readonly high: number | null;
  readonly source: string;
}

/** A cranked engine takes about this long to pull its manifold down, milliseconds (common practice). */
const emptyAfterMs = 1500;

/**
 * How a sign's range lies over a trace: as it is over the first of its channels, or counted from the outside air.
 * Signs whose figure is no level of one channel (a sum of trims, a spread, a time) are not here.
 */
const lies: Readonly<Record<string, "as it is" | "from the outside air" | "below the outside air">> = {
  "power.crank-voltage": "as it is",
  "power.charging": "as it is",
  "crank.speed": "as it is",
  "crank.drag": "as it is",
  "crank.throttle-open": "as it is",
  "crank.pull-down": "below the outside air",
  "sensor.key-on-manifold": "from the outside air",
  "sensor.temperature-circuit": "as it is",
  "sensor.coolant-warm": "as it is",
};

/** In order of time; of two that meet, the first keeps its stretch. */
export function signBands(signs: readonly Sign[], channels: ChannelStore): SignBand[] {
  const bands = signs.flatMap((sign) => bandsOf(sign, channels)).sort((a, b) => a.from - b.from);
  const end = new Map<string, number>();
  return bands.flatMap((band) => {
    const from = Math.max(band.from, end.get(band.channel) ?? Number.NEGATIVE_INFINITY);
    if (from >= band.to) return [];
    end.set(band.channel, band.to);
    return [{ ...band, from }];
  });
}

function bandsOf({ id, range, windows, channels: own }: Sign, channels: ChannelStore): SignBand[] {
  const how = Object.hasOwn(lies, id) ? lies[id] : undefined;
  const channel = how === "as it is" ? own[0] : "manifold";
  if (how === undefined || range === null || channel === undefined) return [];
  const { low, high, source } = range;
  return windows.flatMap(({ from, to }): SignBand[] => {
    if (how === "as it is") return [{ channel, from, to, low, high, source }];
    const air = channels.find("barometric")?.at(to)?.value ?? Number.NaN;
    if (Number.isNaN(air)) return [];
    const above = (by: number | null): number | null => (by === null ? null : air + by);
    const below = (by: number | null): number | null => (by === null ? null : air - by);
    if (how === "from the outside air")
      return [{ channel, from, to, low: above(low), high: above(high), source }];
    return [{ channel, from: from + emptyAfterMs, to, low: below(high), high: below(low), source }];
  });
}

/** The band of a channel that holds at a time. */
export function signBandAt(bands: readonly SignBand[], channel: string, t: number): SignBand | undefined {
  return bands.find((band) => band.channel === channel && band.from <= t && t < band.to);
}
