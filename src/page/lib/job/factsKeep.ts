/** Facts that are typed and not known to be kept, beside the page, so that a reload or a closed tab loses none. */
import { jobFactsSchema, type JobFacts } from "../../../../shared/vehicle.ts";
import { isOfLaterVersion, openDraft } from "../app/storedDraft.ts";

export interface FactsKeep {
  /** Null where nothing is kept under that name. */
  read(name: string): JobFacts | null;
  /** Null takes it away. False where nothing can be kept: storage is off or full. */
  write(name: string, facts: JobFacts | null): boolean;
}

const start = "crankside-facts-";

export class StorageFactsKeep implements FactsKeep {
  readonly #storage: () => Storage;

  /** Asking for the storage throws where the browser was told to keep nothing. */
  constructor(storage: () => Storage) {
    this.#storage = storage;
  }

  read(name: string): JobFacts | null {
    try {
      const result = jobFactsSchema.safeParse(openDraft("factsDraft", this.#storage().getItem(start + name)));
      return result.success ? result.data : null;
    } catch {
      // Storage is off.
      return null;
    }
  }

  write(name: string, facts: JobFacts | null): boolean {
    try {
      const storage = this.#storage();
      if (isOfLaterVersion("factsDraft", storage.getItem(start + name))) return false;
      if (facts === null) storage.removeItem(start + name);
      else storage.setItem(start + name, JSON.stringify(facts));
      return true;
    } catch {
      return false;
    }
  }
}
