import type { JobFacts, VehicleFacts } from "../../../shared/vehicle.ts";
import type { Json } from "../../sheet/change.ts";
import { inOrder, type JobDocument } from "../../sheet/job.ts";
import type { Job } from "./job.svelte.ts";
import type { JobDesk } from "./jobDesk.svelte.ts";

/** What a form of complaint and vehicle reads and writes. */
export interface FactsHolder {
  readonly facts: JobFacts;
  readonly readOnly: boolean;
  setComplaint(complaint: string): void;
  setVehicle<K extends keyof VehicleFacts>(key: K, value: VehicleFacts[K] | undefined): void;
}

/**
 * Complaint and vehicle of the sheet: those of the open job, else those of the recording. What is typed for a job goes
 * into its recordings too, so that they are read by the same facts.
 */
export class SheetFacts implements FactsHolder {
  readonly #recording: Job;
  readonly #desk: JobDesk;
  readonly #file: () => string;

  constructor(recording: Job, desk: JobDesk, file: () => string) {
    this.#recording = recording;
    this.#desk = desk;
    this.#file = file;
  }

  get facts(): JobFacts {
    const { job } = this.#desk;
    return job === null ? this.#recording.facts : factsOf(job);
  }

  get readOnly(): boolean {
    return this.#desk.job === null && this.#recording.readOnly;
  }

  setComplaint(complaint: string): void {
    if (this.#desk.job !== null) this.#desk.set(["texts", "complaint"], complaint);
    if (this.#goesIntoRecording()) this.#recording.setComplaint(complaint);
  }

  setVehicle<K extends keyof VehicleFacts>(key: K, value: VehicleFacts[K] | undefined): void {
    setInJob(this.#desk, key, value);
    if (this.#goesIntoRecording()) this.#recording.setVehicle(key, value);
  }

  #goesIntoRecording(): boolean {
    if (this.#recording.readOnly) return false;
    const { job } = this.#desk;
    return job === null || inOrder(job.recordings).some((r) => r.tie.file === this.#file());
  }
}

/** The facts of a job, as a recording carries them. */
export function factsOf({ vehicle, texts: { complaint } }: JobDocument): JobFacts {
  return { vehicle, ...(complaint === undefined || complaint === "" ? {} : { complaint }) };
}

/** Nothing where no job is open. */
export function setInJob<K extends keyof VehicleFacts>(
  desk: JobDesk,
  key: K,
  value: VehicleFacts[K] | undefined,
): void {
  desk.set(["vehicle", key], value as Json | undefined);
  if (key === "vin") desk.set(["vinFrom"], value === undefined ? null : "typed");
}
