/** What is filled into a form and not kept yet, beside the page: a reload or a closed tab loses no word of it. */
import { z } from "zod/mini";
import { isFields } from "../../../../shared/stored/forms.ts";
import { currentCheck, formerIds, renamed, type Renamed } from "../../../../shared/stored/renamed.ts";
import { KeptWords } from "../app/keptWords.ts";

export class FormKeep {
  readonly #kept: KeptWords<unknown>;
  readonly #table: Renamed;

  constructor(storage: () => Storage, table: Renamed = renamed) {
    this.#kept = new KeptWords("formDraft", z.unknown(), storage);
    this.#table = table;
  }

  /** Null where nothing of this shape is kept under that name, or under one that its check or cause had before. */
  read<T>(name: string, shape: z.ZodMiniType<T>): T | null {
    for (const one of [name, ...this.#formerNames(name)]) {
      const kept = this.#kept.read(one);
      const found = z.safeParse(shape, one === name ? kept : this.#ofToday(one, kept));
      if (found.success) return found.data;
    }
    return null;
  }

  /** Null takes it away. Where nothing can be kept, the form is as it was without. */
  write(name: string, filled: unknown): void {
    if (this.#kept.isOfLater(name)) return;
    this.#kept.write(name, filled);
    for (const former of this.#formerNames(name)) this.#kept.write(former, null);
  }

  /** A form is named after its recording, and after its check or, with `act-` before it, its cause. */
  #formerNames(name: string): string[] {
    const at = name.lastIndexOf("/") + 1;
    const [file, id] = [name.slice(0, at), name.slice(at)];
    const cause = id.startsWith("act-") ? id.slice(4) : null;
    if (cause !== null) return formerIds("causes", cause, this.#table).map((old) => `${file}act-${old}`);
    return formerIds("checks", id, this.#table).map((old) => `${file}${old}`);
  }

  #ofToday(name: string, kept: unknown): unknown {
    const outcome = isFields(kept) ? kept["outcome"] : undefined;
    if (!isFields(kept) || typeof outcome !== "string") return kept;
    const check = name.slice(name.lastIndexOf("/") + 1);
    return { ...kept, ...currentCheck({ check, outcome }, this.#table) };
  }
}

export const formKeep = new FormKeep(() => localStorage);
