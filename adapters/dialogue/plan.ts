import type { Exchange, ExchangeLimits } from "./machine.ts";

/** One command of a plan. */
export interface PlannedAsk {
  readonly ask: string;
  readonly waits?: Partial<ExchangeLimits>;
  /** What is being done, in words, for the person who waits. */
  readonly doing?: string;
}

/** A pure sequence of commands, each chosen from what came back so far. It may throw a CranksideError. */
export type Plan<Result> = Generator<PlannedAsk, Result, Exchange>;

/** Who takes a plan's commands, one after the other. */
export interface PlanTaker {
  ask(ask: string, waits?: Partial<ExchangeLimits>): Promise<Exchange>;
}

/** Walks a plan over a dialogue. */
export async function follow<Result>(
  plan: Plan<Result>,
  dialogue: PlanTaker,
  onDoing: (words: string) => void = () => undefined,
): Promise<Result> {
  let turn = plan.next();
  while (turn.done !== true) {
    const { ask, waits, doing } = turn.value;
    if (doing !== undefined) onDoing(doing);
    turn = plan.next(await dialogue.ask(ask, waits));
  }
  return turn.value;
}
