/** What is filled into a form and not kept yet, beside the page: a reload or a closed tab loses no word of it. */
import { z } from "zod/mini";

const start = "crankside-form-";

export class FormKeep {
  readonly #storage: () => Storage;

  /** Asking for the storage throws where the browser was told to keep nothing. */
  constructor(storage: () => Storage) {
    this.#storage = storage;
  }

  /** Null where nothing of this shape is kept under that name. */
  read<T>(name: string, shape: z.ZodMiniType<T>): T | null {
    try {
      const found = z.safeParse(shape, JSON.parse(this.#storage().getItem(start + name) ?? "null"));
      return found.success ? found.data : null;
    } catch {
      // Storage is off, or holds what is not ours.
      return null;
    }
  }

  /** Null takes it away. */
  write(name: string, filled: unknown): void {
    try {
      if (filled === null) this.#storage().removeItem(start + name);
      else this.#storage().setItem(start + name, JSON.stringify(filled));
    } catch {
      // Where nothing can be kept, the form is as it was without.
    }
  }
}

export const formKeep = new FormKeep(() => localStorage);
