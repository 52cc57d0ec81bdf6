/**
 * Changes that are not known to be saved, kept beside the page so that a reload, a crash or a closed tab loses no word.
 * Each page keeps its own; what a page that is gone left behind is taken over by one that is there.
 */
import { z } from "zod/mini";
import { changeSchema, currentChange, folded, type Change } from "../../../sheet/change.ts";
import { isOfLaterVersion, openDraft } from "../app/storedDraft.ts";

export interface Keep {
  /** False where nothing can be kept: storage is off or full. */
  write(id: string, changes: readonly Change[]): boolean;
  /** What pages that are gone left of this job; it is then this page's own. */
  takeOver(id: string): Promise<readonly Change[]>;
  /** Jobs of which pages that are gone left something. */
  left(): Promise<readonly string[]>;
  /** Of this job something is left that only a later version of the program can read; it stays where it is. */
  leftByLater(id: string): boolean;
}

/** Which pages are there besides this one. */
export interface Others {
  alive(): Promise<ReadonlySet<string>>;
}

const start = "crankside-job-";
const changesSchema = z.array(changeSchema);

interface Kept {
  readonly name: string;
  readonly id: string;
}

export class StorageKeep implements Keep {
  readonly #storage: Storage;
  readonly #page: string;
  readonly #others: Others;

  /** `page` is a name of small letters and digits that no other page has. */
  constructor(storage: Storage, page: string, others: Others) {
    this.#storage = storage;
    this.#page = page;
    this.#others = others;
  }

  write(id: string, changes: readonly Change[]): boolean {
    const name = `${start}${id}/${this.#page}`;
    try {
      if (changes.length > 0) {
        this.#storage.setItem(name, JSON.stringify(changes));
        return true;
      }
      this.#storage.removeItem(name);
      // Whether more could be kept is to be known before it is needed.
      this.#storage.setItem(`${start}trial`, "");
      this.#storage.removeItem(`${start}trial`);
      return true;
    } catch {
      return false;
    }
  }

  async takeOver(id: string): Promise<readonly Change[]> {
    const all = (await this.#leftBehind()).filter((kept) => kept.id === id);
    // What cannot be read is not taken away: another version may know better.
    const found = all.filter(({ name }) => this.#read(name).length > 0);
    const changes = folded(found.flatMap(({ name }) => this.#read(name)));
    // Kept under this page's name before the others' are taken away: a crash between the two loses nothing.
    if (changes.length > 0 && !this.write(id, changes)) return changes;
    for (const { name } of found) this.#remove(name);
    return changes;
  }

  async left(): Promise<readonly string[]> {
    const found = (await this.#leftBehind()).filter(({ name }) => this.#read(name).length > 0);
    return [...new Set(found.map(({ id }) => id))].sort();
  }

  leftByLater(id: string): boolean {
    try {
      return Object.keys(this.#storage).some(
        (name) =>
          name.startsWith(`${start}${id}/`) && isOfLaterVersion("jobDraft", this.#storage.getItem(name)),
      );
    } catch {
      // Storage is off.
      return false;
    }
  }

  async #leftBehind(): Promise<Kept[]> {
    const alive = await this.#others.alive();
    try {
      return Object.keys(this.#storage)
        .sort()
        .flatMap((name): Kept[] => {
          const [, id = "", page = ""] = /^crankside-job-([a-z0-9-]+)\/([a-z0-9]+)$/.exec(name) ?? [];
          return id === "" || page === this.#page || alive.has(page) ? [] : [{ name, id }];
        });
    } catch {
      // Storage is off: then there is nothing to bring back.
      return [];
    }
  }

  #read(name: string): readonly Change[] {
    try {
      const result = changesSchema.safeParse(openDraft("jobDraft", this.#storage.getItem(name)));
      return result.success ? result.data.map((change) => currentChange(change)) : [];
    } catch {
      // Storage is off.
      return [];
    }
  }

  #remove(name: string): void {
    try {
      this.#storage.removeItem(name);
    } catch {
      // It stays, and saving it a second time changes nothing.
    }
  }
}

export const noKeep: Keep = {
  write: () => false,
  takeOver: () => Promise.resolve([]),
  left: () => Promise.resolve([]),
  leftByLater: () => false,
};
