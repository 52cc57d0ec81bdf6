/** What is known of the vehicle beside what the job itself says: by its recordings' facts, by their modules and readings. */
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { ProfileEntry } from "../../interpret/report/schema.ts";
import type { TiedSource } from "../tied.ts";
import { inOrder } from "../job.ts";
import type { Composing } from "./composing.ts";

function fitting({ job, sources }: Composing): TiedSource[] {
  return inOrder(job.recordings).flatMap(({ tie }) => sources.evidence(tie).source ?? []);
}

/**
 * The facts that the recordings of the job were read by: those of the job go first. What says whose vehicle it is comes
 * from the job alone, which may hide it.
 */
export function vehicleOf(composing: Composing): VehicleFacts {
  const recorded = fitting(composing).map(({ vehicle = {} }) => {
    const technical = Object.entries(vehicle).filter(([name]) => name !== "vin" && name !== "name");
    return Object.fromEntries(technical);
  });
  return Object.assign({}, ...recorded.toReversed(), composing.job.vehicle) as VehicleFacts;
}

const fromWords = { module: "by its module", seen: "by the readings" } as const;

/** One line for each thing that nobody said and a recording tells all the same, with the reason. */
export function kindItems(composing: Composing): string[] {
  const said = vehicleOf(composing);
  const items = fitting(composing).flatMap(({ profile = [] }) =>
    profile.flatMap((entry): string[] => {
      const { from, value, sure, name, why } = entry;
      if (value === null || (from !== "module" && from !== "seen") || isSaid(entry, said)) return [];
      return [`${name}: ${value}, ${fromWords[from]}${sure === "likely" ? ", likely" : ""} (${why})`];
    }),
  );
  return [...new Set(items)];
}

/** A person said it since; a recording that was read before keeps what it saw. */
function isSaid({ of }: ProfileEntry, { fuel, induction, metering, ...rest }: VehicleFacts): boolean {
  const facts = {
    ...{ fuel, induction, metering, throttled: rest.throttled, stops: rest.stopsAtStandstill },
    ...{ supply: rest.supplyVolts, hybrid: rest.hybrid, vin: rest.vin },
  };
  return facts[of] !== undefined;
}
