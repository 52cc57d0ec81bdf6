import type { JobFacts, VehicleFacts } from "../../../../shared/vehicle.ts";
import type { KeptWords } from "../app/keptWords.ts";
import { withComplaint, withVehicle, type FactsHolder } from "./factsHolder.ts";

/** Where facts are kept that belong to no recording yet. */
const key = "next";

/** What the next recording begins with; what a page that is gone left of it is there again. */
export class NextFacts implements FactsHolder {
  readonly readOnly = false;
  readonly #kept: KeptWords<JobFacts>;
  #facts: JobFacts = $state.raw({});
  /** What of it was typed on this page, and not left by one that is gone: that was about whatever vehicle it was. */
  #typedHere: JobFacts = {};
  /** Nothing can be kept beside the page. */
  #careless = $state(false);

  constructor(kept: KeptWords<JobFacts>) {
    this.#kept = kept;
    this.#facts = kept.read(key) ?? {};
  }

  /** Closing the page now would lose words. */
  get wouldLose(): boolean {
    return this.#careless && !isEmpty(this.#facts);
  }

  get facts(): JobFacts {
    return this.#facts;
  }

  /** Typed on this page since the form was begun; what was wiped out again was not said. */
  get typedHere(): JobFacts {
    return this.#typedHere;
  }

  /** A recording has begun with them. */
  taken(): void {
    this.#kept.write(key, null);
  }

  begin(facts: JobFacts): void {
    this.#facts = facts;
    this.#typedHere = {};
    if (isEmpty(facts)) this.taken();
  }

  setComplaint(complaint: string): void {
    this.#typedHere = withComplaint(this.#typedHere, complaint);
    this.#set(withComplaint(this.#facts, complaint));
  }

  setVehicle<K extends keyof VehicleFacts>(name: K, value: VehicleFacts[K] | undefined): void {
    this.#typedHere = withVehicle(this.#typedHere, name, value);
    this.#set(withVehicle(this.#facts, name, value));
  }

  #set(facts: JobFacts): void {
    this.#facts = facts;
    this.#careless = !this.#kept.write(key, isEmpty(facts) ? null : facts);
  }
}

function isEmpty({ complaint = "", vehicle = {} }: JobFacts): boolean {
  return complaint === "" && Object.keys(vehicle).length === 0;
}
