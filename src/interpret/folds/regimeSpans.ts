import type { ChannelStore } from "../../../shared/channels.ts";
import { StoreWalk } from "./merge.ts";
import type { RegimeFacts } from "./regimeLimits.ts";
import { RegimeFold, type RegimeSpan } from "./regimes.ts";

/** The spans of everything in the store up to `until`, milliseconds. */
export function regimeSpans(channels: ChannelStore, until: number, facts: RegimeFacts = {}): RegimeSpan[] {
  const fold = new RegimeFold(facts);
  new StoreWalk(channels).advance(Number.POSITIVE_INFINITY, (channel, module, t, value) =>
    fold.take(channel, module, t, value),
  );
  fold.finish();
  return fold.spans(until);
}
