/**
 * Practising: a fault that nobody is told of. Named in an address where a fault would stand: `bench:garden-van,surprise`, or one
 * of the cases by its id. Ids, titles and stories tell what a customer tells, and no more.
 */
import type { BenchFault } from "../../shared/address.ts";
import { faultsOf } from "./faults.ts";
import { benchVehicle } from "./vehicles.ts";

export interface PracticeCase {
  readonly id: string;
  readonly title: string;
  /** What the customer says. */
  readonly story: string;
  readonly vehicle: string;
  readonly fault: BenchFault;
}

export const surprise = "surprise";
/** Beside faults that are named: nobody is told of them. */
const hiddenWord = "hidden";

/** Invented, as the vehicles are. */
export const practiceCases: readonly PracticeCase[] = [
  {
    id: "case-stood",
    title: "Stood all winter",
    story:
      "Put away in autumn and not touched since. The battery was on a charger. It turns over as it always did and will not catch.",
    vehicle: "garden-van",
    fault: { name: "stale-fuel", severity: 1 },
  },
  {
    id: "case-hisses",
    title: "Hisses at idle",
    story:
      "Idles unevenly and a little high since last week, and there is a hiss somewhere in front. On the road it pulls.",
    vehicle: "garden-van",
    fault: { name: "unmetered-air", severity: 1 },
  },
  {
    id: "case-shakes",
    title: "Shakes",
    story: "It shakes at the lights, the engine lamp came on yesterday. It starts at once.",
    vehicle: "garden-van",
    fault: { name: "ignition-one-cylinder", severity: 1 },
  },
  {
    id: "case-slowly",
    title: "Cranks slowly",
    story:
      "Every morning it turns more slowly. A new battery went in a month ago, and it was better for a day.",
    vehicle: "hay-truck",
    fault: { name: "cable-resistance", severity: 0.9 },
  },
  {
    id: "case-silent",
    title: "Turns and says nothing",
    story: "It stopped at a crossing and has not fired since. The starter sounds as strong as ever.",
    vehicle: "old-hatch",
    fault: { name: "no-crank-signal", severity: 1 },
  },
];

export interface Practised {
  readonly faults: readonly BenchFault[];
  /** Not to be told before the person asks for it. */
  readonly hidden: boolean;
}

/** The faults that are meant. `draw`, 0 to 1, says which a surprise is and how bad. */
export function practised(vehicle: string, named: readonly BenchFault[], draw: () => number): Practised {
  let hidden = named.some((one) => one.name === hiddenWord);
  const faults = named
    .filter((one) => one.name !== hiddenWord)
    .map((one): BenchFault => {
      const known = practiceCases.find((c) => c.id === one.name && c.vehicle === vehicle);
      if (known === undefined && one.name !== surprise) return one;
      hidden = true;
      if (known !== undefined) return known.fault;
      const all = faultsOf(benchVehicle(vehicle));
      const name = all[Math.min(all.length - 1, Math.floor(draw() * all.length))]?.id ?? "";
      // Bad enough to be met.
      return { name, severity: Math.round((0.8 + 0.2 * draw()) * 100) / 100 };
    });
  return { faults, hidden };
}
