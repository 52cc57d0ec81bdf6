/** Signs that name a cylinder say where it lies and with which other it is paired, as far as the facts tell. */
import { placeWords } from "../../../shared/firing.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { Sign } from "./schema.ts";

export function placedCylinders(signs: readonly Sign[], facts: VehicleFacts): Sign[] {
  return signs.map((sign) => {
    if (sign.cylinder === undefined || (sign.verdict !== "outside" && sign.verdict !== "near")) return sign;
    const words = placeWords(facts, sign.cylinder);
    if (words === "") return sign;
    const note = `Cylinder ${sign.cylinder}: ${words}.`;
    return { ...sign, note: sign.note === undefined ? note : `${sign.note} ${note}` };
  });
}
