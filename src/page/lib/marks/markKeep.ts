/**
 * Marks that are not known to be in their recording, beside the page, so that a closed tab or a crash loses none. Each
 * stands under its own name: what two pages keep twice is the same mark.
 */
import { z } from "zod/mini";
import type { Unsaved } from "./markList.ts";
import { openDraft } from "../app/storedDraft.ts";

export interface MarkKeep {
  /** What was left of this recording by a page that is gone, or is on its way in another. */
  read(file: string): readonly Unsaved[];
  /** False where nothing can be kept: storage is off or full. */
  write(file: string, mark: Unsaved): boolean;
  remove(file: string, id: string): void;
}

const start = "crankside-mark-";
const markSchema = z.object({
  id: z.string().check(z.minLength(1), z.maxLength(40)),
  at: z.number().check(z.gte(0)),
  until: z.optional(z.number().check(z.gte(0))),
  label: z.string().check(z.maxLength(400)),
  removed: z.optional(z.literal(true)),
});

export class StorageMarkKeep implements MarkKeep {
  readonly #storage: () => Storage;

  /** Asking for the storage throws where the browser was told to keep nothing. */
  constructor(storage: () => Storage) {
    this.#storage = storage;
  }

  read(file: string): readonly Unsaved[] {
    try {
      const storage = this.#storage();
      return Object.keys(storage)
        .filter((name) => name.startsWith(`${start}${file}/`))
        .sort()
        .flatMap((name) => markOf(storage.getItem(name)) ?? []);
    } catch {
      // Storage is off: then there is nothing to bring back.
      return [];
    }
  }

  write(file: string, mark: Unsaved): boolean {
    try {
      this.#storage().setItem(`${start}${file}/${mark.id}`, JSON.stringify(mark));
      return true;
    } catch {
      return false;
    }
  }

  remove(file: string, id: string): void {
    try {
      this.#storage().removeItem(`${start}${file}/${id}`);
    } catch {
      // It stays, and keeping it a second time changes nothing.
    }
  }
}

function markOf(text: string | null): Unsaved | null {
  const found = markSchema.safeParse(openDraft("markDraft", text));
  if (!found.success) return null;
  const { until, removed, ...mark } = found.data;
  return {
    ...mark,
    ...(until === undefined ? {} : { until }),
    ...(removed === undefined ? {} : { removed }),
  };
}
