/** What a page asks of the bench vehicle by hand: a gauge, and what was hidden. */
import { benchFaults, handChecks, measure, mendedBy, type Bench } from "../../adapters/bench/index.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { HandReading, PageRequest, Revealed } from "../../shared/messages.ts";

type ByHand = Extract<PageRequest, { type: "measure" | "reveal" }>;

/** What a desk answers apart from what it does in turn. */
export type Apart = "ports" | "survey" | "clear" | "job" | "measure" | "reveal";

export interface ToldByHand {
  readonly reading?: HandReading;
  readonly revealed?: Revealed;
}

/** Throws `wrong-use` where there is none. */
export function theBench(bench: Bench | null): Bench {
  if (bench === null) throw new CranksideError("wrong-use", "no bench vehicle is connected");
  return bench;
}

/** Throws `wrong-use` without a bench vehicle, `bench-unknown` for a check or cylinder there is not. */
export function byHand(request: ByHand, on: Bench | null, tellStatus: () => void): ToldByHand {
  const bench = theBench(on);
  if (request.type === "reveal") {
    const faults = bench.reveal();
    tellStatus();
    return {
      revealed: faults.map(({ name }) => ({
        name: benchFaults.find((row) => row.id === name)?.name ?? name,
        causes: [...(mendedBy[name] ?? [])],
      })),
    };
  }
  const { check, cylinder, value, unit, words } = measure(bench, request.check, request.cylinder);
  const name = handChecks.find((row) => row.id === check)?.name ?? check;
  return { reading: { name, cylinder, value, unit, words } };
}
