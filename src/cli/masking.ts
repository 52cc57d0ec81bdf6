import { CranksideError } from "../../shared/errors.ts";
import type { Masking } from "../sheet/mask.ts";

/** `vin,names,plate`: what is hidden in what leaves. Throws `wrong-use`. */
export function maskingOf(text: string | undefined): Masking {
  const words = (text ?? "")
    .split(",")
    .map((word) => word.trim())
    .filter((word) => word !== "");
  const wrong = words.find((word) => !["vin", "names", "plate"].includes(word));
  if (wrong !== undefined) {
    throw new CranksideError("wrong-use", "this cannot be masked", {
      expected: "vin, names, plate",
      found: JSON.stringify(wrong),
    });
  }
  return { vin: words.includes("vin"), names: words.includes("names"), plate: words.includes("plate") };
}
