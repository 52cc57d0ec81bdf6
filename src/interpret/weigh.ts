import type { Sign } from "./schema.ts";
import { makeSign } from "./sign.ts";

/** The apparent lean of one missed firing in a hundred is about one percent of correction; with room for error. */
const roomFactor = 1.5;
const roomPoints = 3;
const limit = 8;

/**
 * A misfire pumps unburnt oxygen past the sensor and reads lean. Where one was found, lean is only said when the
 * correction is more than the misfire can explain.
 */
export function weighAgainstMisfire(signs: readonly Sign[]): Sign[] {
  const misfires = signs.filter((s) => s.family === "misfire" && s.verdict === "outside");
  if (misfires.length === 0) return [...signs];
  const counted = misfires
    .filter((s) => s.key === "misfire.counts/engine")
    .map((s) => s.measured?.value ?? null)
    .find((v) => v !== null);
  return signs.map((sign) => {
    if (sign.id !== "mixture.lean" && sign.id !== "mixture.unmetered-air" && sign.id !== "mixture.metering")
      return sign;
    const value = sign.measured?.value ?? 0;
    if (value <= 0 || (sign.verdict !== "outside" && sign.verdict !== "near")) return sign;
    const known = counted ?? null;
    const explained = known === null ? Number.POSITIVE_INFINITY : known * roomFactor + roomPoints;
    if (sign.id === "mixture.lean" && value - explained > limit) return sign;
    if (sign.id !== "mixture.lean" && known !== null && known * roomFactor < 3) return sign;
    return makeSign(sign.id, {
      verdict: "cannot-tell",
      ...(sign.key === sign.id ? {} : { of: sign.key.slice(sign.id.length + 1) }),
      windows: sign.windows,
      channels: sign.channels,
      measured: sign.measured,
      range: sign.range,
      ...(sign.bank === undefined ? {} : { bank: sign.bank }),
      meaning: "It reads lean, and a misfire that was found here reads lean too: find the misfire first.",
      note: "It would take the same running without the misfire, or its count from service 06.",
      looksLike: ["misfire-looks-lean"],
    });
  });
}
