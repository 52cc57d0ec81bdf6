/**
 * Some signs are told only while they are there: nothing says of them "within". Which other sign, or which crank, shows
 * afterwards that it was looked at again. A sign without a row is answered by itself alone.
 */
import type { Crank } from "../../report/schema.ts";
import type { SignId } from "../../tables/signs.ts";

export type Answer =
  | {
      readonly by: "sign";
      readonly ids: readonly SignId[];
      /**
       * "verdict": what the other sign says of its range holds for this one. "judged": the readings that would show
       * this one were there, whatever they came to.
       */
      readonly how: "verdict" | "judged";
      /** Which part of the key has to be the same: the bank and where it was driven, the bank, or none. */
      readonly of: "place" | "bank" | "any";
    }
  /** Every crank, or one at least, of those that ended. */
  | { readonly by: "crank"; readonly all: boolean; readonly shows: (crank: Crank) => boolean };

const trims = ["mixture.trims", "mixture.lean", "mixture.rich"] as const;
/** A crank whose speed is seen says all that a sag without one had asked. */
const speedSeen: Answer = { by: "crank", all: true, shows: (c) => c.speed !== null };

export const answered: Readonly<Partial<Record<SignId, Answer>>> = {
  // Adding fuel and taking it away are one correction: no longer lean is told as "needs little correction".
  "mixture.lean": { by: "sign", ids: trims, how: "verdict", of: "place" },
  "mixture.rich": { by: "sign", ids: trims, how: "verdict", of: "place" },
  // A trim that is read often enough to be judged is read often enough to be seen at its limit.
  "mixture.clipped": { by: "sign", ids: trims, how: "judged", of: "bank" },
  // A slow crank is told as one of the two, by whether the supply holds.
  "crank.speed": { by: "sign", ids: ["crank.drag"], how: "verdict", of: "any" },
  "crank.drag": { by: "sign", ids: ["crank.speed"], how: "verdict", of: "any" },
  "crank.no-compression": { by: "sign", ids: ["crank.pull-down"], how: "verdict", of: "any" },
  // Cylinders are told one by one only where the engine as a whole is conspicuous.
  "misfire.counts": { by: "sign", ids: ["misfire.counts"], how: "judged", of: "any" },
  "crank.no-speed": speedSeen,
  "crank.no-turn": speedSeen,
  "crank.nothing": speedSeen,
  "crank.no-fire": { by: "crank", all: false, shows: (c) => c.ranS !== null },
  "crank.dies": { by: "crank", all: false, shows: (c) => c.outcome === "started" },
  "power.collapse": { by: "crank", all: false, shows: (c) => c.meanVolts !== null },
};
