/** By what a recording is read that stands on a job, or on none. Pure. */
import type { VehicleFacts } from "../../shared/vehicle.ts";
import type { ReadBy } from "../analyst/index.ts";
import { effectiveFacts } from "./effectiveFacts.ts";
import type { JobDocument } from "./job.ts";

/** `job`: the one that the recording stands on, or null; `given` goes before what both of them say. */
export function readByJob(job: JobDocument | null, file: string, given: VehicleFacts = {}): ReadBy {
  return {
    facts: (recorded) => {
      const { facts } = effectiveFacts(recorded, job, file);
      return { ...facts, vehicle: { ...facts.vehicle, ...given } };
    },
  };
}
