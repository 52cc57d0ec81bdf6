import type { VehicleFacts } from "../../../../shared/vehicle.ts";
import type { Json } from "../../../sheet/change.ts";
import {
  effectiveFacts,
  type EffectiveFacts,
  type FactName,
  type FactOwner,
} from "../../../sheet/effectiveFacts.ts";
import type { JobDesk } from "./jobDesk.svelte.ts";
import type { FactsHolder } from "./factsHolder.ts";
import type { RecordingFacts } from "./recordingFacts.svelte.ts";

/**
 * Complaint and vehicle of the sheet: just what the recording is read by. While a job is open they are the job's, and
 * what is typed goes into the job alone: the recording says what was known when it was made.
 */
export class SheetFacts implements FactsHolder {
  readonly #recording: RecordingFacts;
  readonly #desk: JobDesk;
  readonly #effective: EffectiveFacts;

  constructor(recording: RecordingFacts, desk: JobDesk, file: () => string) {
    this.#recording = recording;
    this.#desk = desk;
    this.#effective = $derived(effectiveFacts(recording.facts, desk.job, file()));
  }

  get facts(): EffectiveFacts["facts"] {
    return this.#effective.facts;
  }

  get owner(): FactOwner {
    return this.#effective.owner;
  }

  get readOnly(): boolean {
    return this.owner === "recording" && this.#recording.readOnly;
  }

  from(name: FactName): FactOwner | undefined {
    return this.#desk.job === null ? undefined : this.#effective.from[name];
  }

  setComplaint(complaint: string): void {
    if (this.owner === "job") this.#desk.set(["texts", "complaint"], complaint);
    else this.#recording.setComplaint(complaint);
  }

  setVehicle<K extends keyof VehicleFacts>(key: K, value: VehicleFacts[K] | undefined): void {
    if (this.owner === "job") setInJob(this.#desk, key, value);
    else this.#recording.setVehicle(key, value);
  }
}

/** Nothing where no job is open. What is wiped out stays out, also where a recording says something. */
export function setInJob<K extends keyof VehicleFacts>(
  desk: JobDesk,
  key: K,
  value: VehicleFacts[K] | undefined,
): void {
  desk.set(["vehicle", key], value as Json | undefined);
  desk.set(["unsaid", key], value === undefined ? true : undefined);
  if (key === "vin") desk.set(["vinFrom"], value === undefined ? null : "typed");
}
