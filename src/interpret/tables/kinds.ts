/** Kinds of vehicle that a sign can hold for. FINDINGS.md shows each sign with what three sets of data say. */
export const kinds = {
  any: { words: "any engine", decides: "" },
  spark: {
    words: "engines with spark",
    decides: "the fuel in the vehicle's facts, parameter 51, or trims asked",
  },
  throttled: {
    words: "engines that a plate throttles",
    decides: "the fuel in the vehicle's facts, parameter 51, or a minute of idle with manifold pressure",
  },
} as const;
export type Kind = keyof typeof kinds;
