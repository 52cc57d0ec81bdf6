/** Signs that hold for some kinds of vehicle only: not stated of others, and not judged of an unknown one. */
import type { VehicleProfile } from "./profile.ts";
import { fits } from "../causes/model.ts";
import { enough, onlyOf } from "../report/points.ts";
import type { Sign } from "../report/schema.ts";
import { makeSign } from "../report/sign.ts";
import { kinds, type Kind } from "../tables/kinds.ts";
import { signRow, type SignId } from "../tables/signs.ts";

/** Whether a kind is this vehicle's; null: unknown. */
export function isOfKind(kind: Kind, profile: VehicleProfile): boolean | null {
  switch (kind) {
    case "any":
      return true;
    case "throttled":
      return profile.throttled.value;
    case "spark": {
      const fuel = profile.fuel.value;
      return fuel === null || fuel === "other" ? null : fuel !== "diesel";
    }
  }
}

export function kindOf(id: string): Kind {
  return signRow(id as SignId).kind;
}

/** Of what a sign points to, what this vehicle can have: no coil of a diesel, no air-flow meter where there is none. */
function pointsOf(sign: Sign, { fuel, metering }: VehicleProfile): Sign {
  const facts = {
    ...(fuel.value === null ? {} : { fuel: fuel.value }),
    ...(metering.value === null ? {} : { metering: metering.value }),
  };
  const can = ({ id }: { readonly id: string }): boolean => fits(onlyOf(id), facts);
  return { ...sign, looksLike: enough(sign.looksLike.filter(can)), checks: sign.checks.filter(can) };
}

/** The signs that may be stated of a vehicle of this kind. */
export function ofKind(signs: readonly Sign[], profile: VehicleProfile): Sign[] {
  return statable(signs, profile).map((sign) => pointsOf(sign, profile));
}

function statable(signs: readonly Sign[], profile: VehicleProfile): Sign[] {
  return signs.flatMap((sign) => {
    const kind = kindOf(sign.id);
    const held = isOfKind(kind, profile);
    // Of the mixture one sign stays, which says why nothing is said.
    if (held === false) return sign.id === "mixture.trims" && sign.verdict === "cannot-tell" ? [sign] : [];
    if (held === true || sign.verdict === "cannot-tell") return [sign];
    const { words, decides } = kinds[kind];
    return [
      {
        ...makeSign(sign.id as SignId, {
          verdict: "cannot-tell",
          windows: sign.windows,
          channels: sign.channels,
          measured: sign.measured,
          range: sign.range,
          note: `Applies to ${words} only, and it is not known whether this is one. Needs ${decides}.`,
        }),
        key: sign.key,
      },
    ];
  });
}
