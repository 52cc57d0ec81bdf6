/** A hand check that can be done now, and what it would be worth. */
import type { Plan } from "./cost.ts";
import type { Question } from "./model.ts";
import type { HandCheckRow } from "./types.ts";

export interface Possible {
  readonly check: HandCheckRow;
  readonly question: Question;
  readonly minutes: number;
  readonly cost: number;
}

export interface Weighed extends Possible {
  /** Expected cost with this check done first. */
  readonly expected: number;
  /** P(outcome) and what would be believed and done after it. */
  readonly outcomes: readonly {
    readonly outcome: string;
    readonly p: number;
    readonly shares: Float64Array;
    readonly plan: Plan;
  }[];
  /** What it saves by its outcomes, for each unit that it costs. Above 1 it pays. */
  readonly worth: number;
  /** Probability that the next repair would be another one, or whether its part is likely enough to be bought. */
  readonly changes: number;
  /** Probability that another cause, or another repair, would come first. */
  readonly reorders: number;
}
