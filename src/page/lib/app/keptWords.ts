/** Words that the browser keeps beside the page, each under its key: a reload, a crash or a closed tab loses none. */
import type { z } from "zod/mini";
import { isOfLaterVersion, openDraft } from "./storedDraft.ts";

const starts = {
  jobDraft: "crankside-job-",
  factsDraft: "crankside-facts-",
  markDraft: "crankside-mark-",
  formDraft: "crankside-form-",
} as const;

export class KeptWords<T> {
  readonly #kind: keyof typeof starts;
  readonly #start: string;
  readonly #shape: z.ZodMiniType<T>;
  readonly #storage: () => Storage;

  /** Asking for the storage throws where the browser was told to keep nothing. */
  constructor(kind: keyof typeof starts, shape: z.ZodMiniType<T>, storage: () => Storage) {
    this.#kind = kind;
    this.#start = starts[kind];
    this.#shape = shape;
    this.#storage = storage;
  }

  /** Null for nothing, for what is not of this shape, and for what a later version kept. */
  read(key: string): T | null {
    return this.#there(null, (storage) => {
      const found = this.#shape.safeParse(openDraft(this.#kind, storage.getItem(this.#start + key)));
      return found.success ? found.data : null;
    });
  }

  /** Null takes it away. False where nothing can be kept: storage is off or full, or a later version keeps it. */
  write(key: string, words: T | null): boolean {
    return this.#there(false, (storage) => {
      if (isOfLaterVersion(this.#kind, storage.getItem(this.#start + key))) return false;
      if (words === null) storage.removeItem(this.#start + key);
      else storage.setItem(this.#start + key, JSON.stringify(words));
      return words !== null || this.works();
    });
  }

  /** Takes these words away. Others stay, which another tab has kept under the same key. */
  takeAway(key: string, words: T): void {
    this.#there(undefined, (storage) => {
      if (storage.getItem(this.#start + key) === JSON.stringify(words)) storage.removeItem(this.#start + key);
    });
  }

  /** Whether more could be kept, which is to be known before it is needed. */
  works(): boolean {
    return this.#there(false, (storage) => {
      storage.setItem(`${this.#start}trial`, "");
      storage.removeItem(`${this.#start}trial`);
      return true;
    });
  }

  /** What is kept under keys that begin so. */
  keys(start: string): string[] {
    return this.#there([], (storage) =>
      Object.keys(storage)
        .filter((name) => name.startsWith(this.#start + start))
        .map((name) => name.slice(this.#start.length))
        .sort(),
    );
  }

  /** Only a later version of the program can read it; it stays where it is. */
  isOfLater(key: string): boolean {
    return this.#there(false, (storage) => isOfLaterVersion(this.#kind, storage.getItem(this.#start + key)));
  }

  #there<R>(otherwise: R, work: (storage: Storage) => R): R {
    try {
      return work(this.#storage());
    } catch {
      // Storage is off or full: nothing is kept there, and what is there stays.
      return otherwise;
    }
  }
}
