import type { Failure } from "../../../../shared/messages.ts";
import type { JobFacts, VehicleFacts } from "../../../../shared/vehicle.ts";
import type { Outbox, Saved } from "../app/outbox.svelte.ts";
import { withComplaint, withVehicle, type FactsHolder } from "./factsHolder.ts";

/** The recording whose facts are shown. */
export interface FactsPlace {
  readonly file: string;
  readonly facts: JobFacts;
  readonly readOnly: boolean;
}

/** The complaint and the vehicle facts of the recording that is shown, as they are typed; saved a moment after. */
export class RecordingFacts implements FactsHolder {
  readonly #outbox: Outbox<JobFacts>;
  #place: FactsPlace | null = $state.raw(null);
  #sheet: (() => JobFacts) | null = $state.raw(null);

  constructor(outbox: Outbox<JobFacts>) {
    this.#outbox = outbox;
  }

  get #file(): string {
    return this.#place?.file ?? "";
  }

  get wouldLose(): boolean {
    return this.#outbox.wouldLose;
  }

  get facts(): JobFacts {
    return this.#outbox.words(this.#file) ?? this.#place?.facts ?? {};
  }

  /** What holds for the vehicle by now: as the sheet shows it, where an open job has a word in it. */
  get told(): JobFacts {
    return this.#sheet?.() ?? this.facts;
  }

  /** The sheet says what holds for as long as it is there; null: the recording alone. */
  toldBy(sheet: (() => JobFacts) | null): void {
    this.#sheet = sheet;
  }

  get saved(): Saved {
    return this.#outbox.saved(this.#file);
  }

  get failure(): Failure | null {
    return this.#outbox.failure(this.#file);
  }

  get readOnly(): boolean {
    return this.#place?.readOnly ?? false;
  }

  /** Turns to another recording's facts; what was typed for the one before is saved there first. */
  turnTo(place: FactsPlace): void {
    void this.flush();
    this.#place = place;
    if (!place.readOnly) this.#outbox.bring(place.file);
  }

  setComplaint(complaint: string): void {
    this.#outbox.put(this.#file, withComplaint(this.facts, complaint));
  }

  setVehicle<K extends keyof VehicleFacts>(key: K, value: VehicleFacts[K] | undefined): void {
    this.#outbox.put(this.#file, withVehicle(this.facts, key, value));
  }

  /** Saves at once, without waiting for more keys. */
  flush(): Promise<void> {
    return this.#outbox.flush(this.#file);
  }
}
