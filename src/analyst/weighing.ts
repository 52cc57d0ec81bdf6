import type { Advice } from "../interpret/causes/adviceSchema.ts";
import { adviceOf, type AdviceOptions } from "../interpret/causes/advice.ts";
import type { Situation } from "../interpret/causes/evidence.ts";
import { shakenModels, steadinessOf } from "../interpret/causes/hypotheses.ts";
import { consider, sharesUnder } from "../interpret/causes/visit.ts";

/** The advice of a visit, in pieces: the order over shaken tables is most of the work, and may wait between two of them. */
export function* weighing(situation: Situation, options: AdviceOptions): Generator<undefined, Advice> {
  const considered = consider(situation, { ...options, steady: false });
  const runs: Float64Array[] = [];
  for (const other of shakenModels(considered.model)) {
    runs.push(sharesUnder(considered, other));
    yield;
  }
  const steady = steadinessOf(considered.model, runs);
  return adviceOf({ ...considered, steady }, options.own ?? {});
}
