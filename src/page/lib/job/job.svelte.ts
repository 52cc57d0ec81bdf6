import type { Clock } from "../../../../shared/clock.ts";
import type { Failure } from "../../../../shared/messages.ts";
import type { JobFacts, VehicleFacts } from "../../../../shared/vehicle.ts";
import type { FactsKeep } from "./factsKeep.ts";
import { mayPass } from "../app/failure.ts";
import type { Answer } from "../connection/server.svelte.ts";

/** Where the facts of a job are kept; null while nothing is recorded yet. */
export interface JobPlace {
  /** The recording's file. */
  readonly file: string;
  readonly facts: JobFacts;
  readonly readOnly: boolean;
  save(facts: JobFacts): Promise<Answer>;
}

export type Saved = "kept" | "typing" | "saving" | "failed";

const saveAfterMs = 700;
/** Where facts are kept that belong to no recording yet. */
const early = "next";

/** The complaint and the vehicle facts as they are typed, saved a moment after the last key. */
export class Job {
  readonly #clock: Clock;
  readonly #keep: FactsKeep;
  /** Nothing can be kept beside the page. */
  #careless = $state(false);
  /** What was typed and is not known to be kept; null when nothing is. */
  #draft: JobFacts | null = $state.raw(null);
  /** Facts typed before there was a recording. */
  #early: JobFacts = $state.raw({});
  /** What of it was typed on this page, and not left by one that is gone: that was about whatever vehicle it was. */
  #typedHere: JobFacts = {};
  #place: JobPlace | null = $state.raw(null);
  #saved: Saved = $state("kept");
  #failure: Failure | null = $state.raw(null);
  #cancel: (() => void) | null = null;
  #sheet: (() => JobFacts) | null = $state.raw(null);

  /** What was typed before there was a recording, and left by a page that is gone, is there again. */
  constructor(clock: Clock, keep: FactsKeep) {
    this.#clock = clock;
    this.#keep = keep;
    this.#early = keep.read(early) ?? {};
  }

  /** Closing the page now would lose words. */
  get wouldLose(): boolean {
    return this.#careless && (this.#draft !== null || (this.#place === null && !isEmpty(this.#early)));
  }

  get facts(): JobFacts {
    return this.#draft ?? this.#place?.facts ?? this.#early;
  }

  /** Typed on this page before there was a recording, since the sheet was begun. */
  get typedHere(): JobFacts {
    const { complaint = "", vehicle = {} } = this.#typedHere;
    // What was wiped out again was not said.
    const said = Object.fromEntries(Object.entries(vehicle).filter(([, value]) => value !== undefined));
    return {
      ...(complaint.trim() === "" ? {} : { complaint }),
      ...(Object.keys(said).length === 0 ? {} : { vehicle: said }),
    };
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
    return this.#saved;
  }

  get failure(): Failure | null {
    return this.#failure;
  }

  get readOnly(): boolean {
    return this.#place?.readOnly ?? false;
  }

  /** Turns to another recording's facts; what was typed for the one before is saved there first. */
  turnTo(place: JobPlace | null): void {
    if (this.#draft !== null) void this.#save();
    this.#early = place === null ? this.facts : {};
    this.#place = place;
    this.#draft = null;
    this.#saved = "kept";
    this.#failure = null;
    const left = place === null || place.readOnly ? null : this.#keep.read(place.file);
    if (left !== null) this.#set(left);
  }

  /** A recording has begun with them. */
  taken(): void {
    this.#keep.write(early, null);
  }

  /** Begins a sheet that is kept nowhere yet. */
  begin(facts: JobFacts): void {
    this.turnTo(null);
    this.#early = facts;
    this.#typedHere = {};
    if (isEmpty(facts)) this.#keep.write(early, null);
  }

  setComplaint(complaint: string): void {
    if (this.#place === null) this.#typedHere = { ...this.#typedHere, complaint };
    const others = Object.entries(this.facts).filter(([name]) => name !== "complaint");
    this.#set({ ...Object.fromEntries(others), ...(complaint.trim() === "" ? {} : { complaint }) });
  }

  setVehicle<K extends keyof VehicleFacts>(key: K, value: VehicleFacts[K] | undefined): void {
    const others = Object.entries(this.facts.vehicle ?? {}).filter(([name]) => name !== key);
    const vehicle: VehicleFacts = Object.fromEntries(
      value === undefined ? others : [...others, [key, value]],
    );
    if (this.#place === null)
      this.#typedHere = { ...this.#typedHere, vehicle: { ...this.#typedHere.vehicle, [key]: value } };
    this.#set({ ...this.facts, vehicle });
  }

  /** Saves at once, without waiting for more keys. */
  async flush(): Promise<void> {
    if (this.#cancel !== null) await this.#save();
  }

  /** Tries again to keep what could not be kept. */
  retry(): void {
    if (this.#failure !== null && mayPass(this.#failure) && this.#saved === "failed") void this.#save();
  }

  #set(facts: JobFacts): void {
    if (this.#place === null) {
      this.#early = facts;
      this.#careless = !this.#keep.write(early, isEmpty(facts) ? null : facts);
      return;
    }
    this.#draft = facts;
    this.#careless = !this.#keep.write(this.#place.file, facts);
    this.#saved = "typing";
    this.#cancel?.();
    this.#cancel = this.#clock.after(saveAfterMs, () => void this.#save());
  }

  async #save(): Promise<void> {
    this.#cancel?.();
    this.#cancel = null;
    const draft = this.#draft;
    const place = this.#place;
    if (draft === null || place === null) return;
    this.#saved = "saving";
    const answer = await place.save(draft);
    if (this.#place !== place) return;
    if (answer.ok) {
      // Typed on meanwhile: then this save is overtaken, and the next one is due anyway.
      if (this.#draft !== draft) return;
      this.#draft = null;
      this.#keep.write(place.file, null);
      this.#saved = "kept";
      this.#failure = null;
    } else {
      this.#saved = "failed";
      this.#failure = answer.failure;
    }
  }
}

function isEmpty({ complaint, vehicle }: JobFacts): boolean {
  return (complaint ?? "") === "" && Object.keys(vehicle ?? {}).length === 0;
}
