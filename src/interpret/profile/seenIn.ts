/** What the readings of a whole recording show of the kind of vehicle, for who wants to know of nothing else. */
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { Source } from "../folds/source.ts";
import { StoreWalk } from "../folds/merge.ts";
import { Placer } from "../folds/placed.ts";
import { RegimeFold, type RegimeSpan } from "../folds/regimes.ts";
import { profileOf, type VehicleProfile } from "./profile.ts";
import { ProfileEvidence } from "./profileSeen.ts";

export function profileIn(
  source: Source,
  facts: VehicleFacts,
  until: number,
): { readonly profile: VehicleProfile; readonly spans: readonly RegimeSpan[] } {
  const placer = new Placer();
  const kind = new ProfileEvidence();
  const regimes = new RegimeFold(facts, (t, readings) => {
    placer.push(t, readings);
  });
  new StoreWalk(source.channels).advance(Number.POSITIVE_INFINITY, (channel, module, t, value) =>
    regimes.take(channel, module, t, value),
  );
  regimes.finish();
  placer.advance(Number.POSITIVE_INFINITY, regimes, (instant) => kind.take(instant));
  const spans = regimes.spans(until);
  return { profile: profileOf(facts, source, kind.seen(spans)), spans };
}
