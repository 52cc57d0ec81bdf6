/** A whole recording, read and judged by the facts that hold for it. Pure. */
import type { JobFacts, VehicleFacts } from "../../shared/vehicle.ts";
import { interpret, type Findings } from "../interpret/index.ts";
import type { Reading } from "../reading/index.ts";
import { effectiveFacts } from "./effectiveFacts.ts";
import type { JobDocument } from "./job.ts";

export interface Analysed {
  readonly findings: Findings;
  readonly facts: JobFacts & { readonly vehicle: VehicleFacts };
}

/** `job`: the one that the recording stands on, or null; `file`: the recording's name. */
export function analysed(reading: Reading, job: JobDocument | null, file: string): Analysed {
  const { facts } = effectiveFacts(reading.facts, job, file);
  return { facts, findings: interpret(reading, facts.vehicle) };
}

export type { Findings };
