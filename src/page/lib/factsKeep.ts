/** Facts that are typed and not known to be kept, beside the page, so that a reload or a closed tab loses none. */
import { jobFactsSchema, type JobFacts } from "../../../shared/vehicle.ts";

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
      const text = this.#storage().getItem(start + name);
      const result = jobFactsSchema.safeParse(text === null ? null : JSON.parse(text));
      return result.success ? result.data : null;
    } catch {
      // Storage is off, or holds what is not ours.
      return null;
    }
  }

  write(name: string, facts: JobFacts | null): boolean {
    try {
      if (facts === null) this.#storage().removeItem(start + name);
      else this.#storage().setItem(start + name, JSON.stringify(facts));
      return true;
    } catch {
      return false;
    }
  }
}
