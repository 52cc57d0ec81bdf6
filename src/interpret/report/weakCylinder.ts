/**
 * One weak cylinder by the supply under the starter: where something else names a cylinder, the gauge begins there. The supply
 * itself has no mark for the first cylinder. Tried on the bench: the distance, in the firing order, to a cylinder whose plug
 * was out came out wrong in most engines and yet agreed with itself, so nothing is named by the shape of the waves.
 */
import { companionOf, firingOrder, placeWords } from "../../../shared/firing.ts";
import { capital } from "../../../shared/letters.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { Sign } from "./schema.ts";

const told = (sign: Sign): boolean => sign.verdict === "outside" || sign.verdict === "near";

/** Compression goes round before leak-down: it takes minutes, and leak-down finds the way out (common practice). */
const round = "Compression of each, then leak-down on the lowest.";

export function weakCylinders(signs: readonly Sign[], facts: VehicleFacts): Sign[] {
  const named = signs.flatMap((s) =>
    s.cylinder !== undefined && told(s) ? [{ cylinder: s.cylinder, by: s.title.toLowerCase() }] : [],
  );
  const cylinders = [...new Set(named.map(({ cylinder }) => cylinder))];
  return signs.map((sign) => {
    if (sign.id !== "crank.cylinder-weak" || !told(sign)) return sign;
    const words = cylinders.length === 0 ? unnamed(facts) : beginWith(named, cylinders, facts);
    return { ...sign, note: sign.note === undefined ? words : `${sign.note} ${words}` };
  });
}

function unnamed({ cylinders, firingOrder: order }: VehicleFacts): string {
  const count = cylinders ?? firingOrder(order)?.length;
  return `The supply does not say which one${count === undefined ? "" : ` of the ${count}`}. ${round}`;
}

interface Named {
  readonly cylinder: number;
  readonly by: string;
}

function beginWith(named: readonly Named[], cylinders: readonly number[], facts: VehicleFacts): string {
  const [one] = cylinders;
  const by = [...new Set(named.map((n) => n.by))].join(", ");
  if (one === undefined || cylinders.length > 1)
    return `The supply does not say which one. Cylinders ${cylinders.join(" and ")} stand out elsewhere (${by}): put the gauge on those first. ${round}`;
  const order = firingOrder(facts.firingOrder);
  const companion = order === null ? null : companionOf(order, one);
  const place = placeWords(facts, one);
  const beside =
    companion === null ? "" : ` Compare with cylinder ${companion}: its piston stands at the same height.`;
  return `The supply does not say which one. Cylinder ${one} stands out elsewhere (${by}): begin compression and leak-down there.${place === "" ? "" : ` ${capital(place)}.`}${beside}`;
}
