/** Changes that are not known to be saved, kept beside the page so that a reload or a crash loses no word. */
import { z } from "zod/mini";
import { changeSchema, type Change } from "../../sheet/change.ts";

export interface Keep {
  read(id: string): readonly Change[];
  /** False where nothing can be kept: storage is off or full. */
  write(id: string, changes: readonly Change[]): boolean;
}

const name = (id: string): string => `crankside-job-${id}`;
const changesSchema = z.array(changeSchema);

export class StorageKeep implements Keep {
  readonly #storage: Storage;

  constructor(storage: Storage) {
    this.#storage = storage;
  }

  read(id: string): readonly Change[] {
    try {
      const result = changesSchema.safeParse(JSON.parse(this.#storage.getItem(name(id)) ?? "[]"));
      return result.success ? result.data : [];
    } catch {
      // Storage is off, or holds what is not ours: then there is nothing to bring back.
      return [];
    }
  }

  write(id: string, changes: readonly Change[]): boolean {
    try {
      if (changes.length === 0) this.#storage.removeItem(name(id));
      else this.#storage.setItem(name(id), JSON.stringify(changes));
      return true;
    } catch {
      return false;
    }
  }
}

export const noKeep: Keep = { read: () => [], write: () => false };
