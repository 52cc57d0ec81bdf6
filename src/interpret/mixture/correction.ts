/** Short and long trim together: what the module adds to the fuel in all. Either alone says little of a change. */
import { Series, type ChannelStore } from "../../../shared/channels.ts";
import { lastBefore, ownSeries } from "../folds/windows.ts";
import { mixtureLimits } from "./mixture.ts";

const named = /^correction-b([12])$/;

/**
 * The correction of `correction-b1` or `-b2` as a series, from readings up to `until`; any other channel's own. Where the long
 * trim was read at all by then, a short one without a long one beside it does not count; else the short one is all there is.
 */
export function seriesNamed(store: ChannelStore, channel: string, until: number): Series | undefined {
  const bank = named.exec(channel)?.[1];
  return bank === undefined ? ownSeries(store, channel) : correction(store, bank, until);
}

/** The long trim is read, too: the correction is the sum. */
export function hasLong(store: ChannelStore, channel: string): boolean {
  const bank = named.exec(channel)?.[1];
  return bank !== undefined && ownSeries(store, `trim-long-b${bank}`) !== undefined;
}

function correction(store: ChannelStore, bank: string, until: number): Series | undefined {
  const short = ownSeries(store, `trim-short-b${bank}`);
  if (short === undefined) return undefined;
  const long = ownSeries(store, `trim-long-b${bank}`);
  const both = lastBefore(long, until, Number.POSITIVE_INFINITY) !== null;
  const sum = new Series(`correction-b${bank}`, short.module);
  const { times, values } = short;
  for (let i = 0; i < times.length; i++) {
    const t = times[i] ?? 0;
    const value = values[i] ?? Number.NaN;
    if (t > until) break;
    if (Number.isNaN(value)) continue;
    const beside = both ? lastBefore(long, t, mixtureLimits.pairMs) : null;
    if (both && beside === null) continue;
    sum.append(t, value + (beside?.value ?? 0));
  }
  return sum.length === 0 ? undefined : sum;
}
