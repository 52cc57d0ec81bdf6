import type { JobFacts, VehicleFacts } from "../../../../shared/vehicle.ts";
import { jobFacts } from "../../../sheet/effectiveFacts.ts";
import { inOrder, type JobDocument } from "../../../sheet/job.ts";
import type { Json } from "../../../sheet/change.ts";
import type { JobDesk } from "./jobDesk.svelte.ts";
import type { FactsHolder } from "./factsHolder.ts";
import { setInJob } from "./jobFacts.svelte.ts";
import type { NextFacts } from "./nextFacts.svelte.ts";

/** Complaint and vehicle at the hookup: what the next recording begins with, and the open job's own, which are one. */
export class HookupFacts implements FactsHolder {
  readonly #next: NextFacts;
  readonly #desk: JobDesk;

  constructor(next: NextFacts, desk: JobDesk) {
    this.#next = next;
    this.#desk = desk;
  }

  get facts(): JobFacts {
    return this.#next.facts;
  }

  get readOnly(): boolean {
    return false;
  }

  setComplaint(complaint: string): void {
    this.#next.setComplaint(complaint);
    this.#desk.set(["texts", "complaint"], complaint);
  }

  setVehicle<K extends keyof VehicleFacts>(key: K, value: VehicleFacts[K] | undefined): void {
    this.#next.setVehicle(key, value);
    setInJob(this.#desk, key, value);
  }

  /** Fills in what the job says. `typed` is what was typed here before the job was there, and stands. */
  prefill(job: JobDocument, typed: JobFacts): void {
    const known = jobFacts(job);
    this.#next.begin({ ...known, ...typed, vehicle: { ...known.vehicle, ...typed.vehicle } });
    const { complaint, vehicle = {} } = typed;
    if (complaint !== undefined) this.#desk.set(["texts", "complaint"], complaint);
    for (const [key, value] of Object.entries(vehicle))
      this.#desk.set(["vehicle", key], value as Json | undefined);
  }
}

/** Where the job's last recording was heard from, as an address; null where it was heard from nowhere one can go. */
export function lastAddress(job: JobDocument): string | null {
  const recordings = inOrder(job.recordings).sort((a, b) => Date.parse(a.started) - Date.parse(b.started));
  return recordings.at(-1)?.from ?? null;
}
