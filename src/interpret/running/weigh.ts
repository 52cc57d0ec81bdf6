import type { Sign } from "../report/schema.ts";
import { makeSign } from "../report/sign.ts";
import type { SignId } from "../tables/signs.ts";

/** The apparent lean of one missed firing in a hundred is about one percent of correction; with room for error. */
const roomFactor = 1.5;
const roomPoints = 3;
const limit = 8;

const readsLean: ReadonlySet<string> = new Set<SignId>([
  "mixture.lean",
  "mixture.clipped",
  "mixture.unmetered-air",
  "mixture.metering",
  "mixture.delivery",
  "mixture.banks",
]);

/**
 * A misfire pumps unburnt oxygen past the sensor and reads lean. Where one was found, lean is only said when the
 * correction is more than the misfire can explain.
 */
export function weighAgainstMisfire(signs: readonly Sign[]): Sign[] {
  const misfires = signs.filter((s) => s.family === "misfire" && s.verdict === "outside");
  if (misfires.length === 0) return signs.some(isRough) ? signs.map(softened) : [...signs];
  const counted = misfires.find((s) => s.key === "misfire.counts/engine")?.measured?.value ?? null;
  // All of them may lie on one bank of two.
  const banks = signs.some((s) => s.bank === 2) ? 2 : 1;
  const explained = counted === null ? Number.POSITIVE_INFINITY : counted * banks * roomFactor + roomPoints;
  return signs.map((sign) => {
    if (!readsLean.has(sign.id) || (sign.verdict !== "outside" && sign.verdict !== "near")) return sign;
    const value = sign.measured?.value ?? 0;
    const lean = sign.id === "mixture.banks" ? Math.abs(value) : value;
    if (lean <= 0) return sign;
    // A part of the fit in g/s is not a percentage: any misfire that matters makes it doubtful.
    const doubtful = sign.id === "mixture.unmetered-air" ? explained > limit : lean - explained <= limit;
    return doubtful ? doubted(sign) : sign;
  });
}

/** Rougher than the range allows, although not surely. */
function isRough(sign: Sign): boolean {
  const value = sign.measured?.value ?? 0;
  return sign.id === "misfire.rough" && sign.verdict === "near" && value > (sign.range?.high ?? 0);
}

/** Where the idle may be rough, lean is not said outright. */
function softened(sign: Sign): Sign {
  if (sign.verdict !== "outside" || (sign.id !== "mixture.lean" && sign.id !== "mixture.clipped"))
    return sign;
  if ((sign.measured?.value ?? 0) <= 0) return sign;
  const note = "The idle is rough as well: a misfire reads lean too, and would have to be excluded first.";
  return { ...sign, verdict: "near", note: sign.note === undefined ? note : `${note} ${sign.note}` };
}

function doubted(sign: Sign): Sign {
  return makeSign(sign.id as SignId, {
    verdict: "cannot-tell",
    ...(sign.key === sign.id ? {} : { of: sign.key.slice(sign.id.length + 1) }),
    windows: sign.windows,
    channels: sign.channels,
    measured: sign.measured,
    range: sign.range,
    ...(sign.bank === undefined ? {} : { bank: sign.bank }),
    meaning: "It reads lean, and a misfire that was found here reads lean too: find the misfire first.",
    note: "Needs the same running without the misfire, or its count from service 06.",
    looksLike: ["misfire-looks-lean"],
  });
}
