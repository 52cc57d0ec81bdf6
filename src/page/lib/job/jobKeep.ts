/** Changes of a job that are not known to be saved: each page keeps its own, and one that is there takes over the rest. */
import { z } from "zod/mini";
import { changeSchema, currentChange, folded, type Change } from "../../../sheet/change.ts";
import { KeptWords } from "../app/keptWords.ts";

type Changes = readonly Change[];

/** Which pages are there besides this one. */
export interface Others {
  alive(): Promise<ReadonlySet<string>>;
}

const changesSchema = z.pipe(
  z.array(changeSchema).check(z.minLength(1)),
  z.transform((changes): Changes => changes.map((change) => currentChange(change))),
);

export class JobKeep {
  readonly kept: KeptWords<Changes>;
  readonly #page: string;
  readonly #others: Others;

  /** `page` is a name of small letters and digits that no other page has. */
  constructor(storage: () => Storage, page: string, others: Others) {
    this.kept = new KeptWords<Changes>("jobDraft", changesSchema, storage);
    this.#page = page;
    this.#others = others;
  }

  /** Where this page keeps its changes of a job. */
  key(id: string): string {
    return `${id}/${this.#page}`;
  }

  /** What pages that are gone left of this job, on top of this page's own; it is then this page's own too. */
  async takeOver(id: string, own: () => Changes): Promise<Changes | null> {
    const found = (await this.#leftBehind()).filter((left) => left.id === id);
    if (found.length === 0) return null;
    const changes = folded([...own(), ...found.flatMap((left) => left.changes)]);
    // Kept under this page's name before the others' are taken away: a crash between the two loses nothing.
    if (this.kept.write(this.key(id), changes)) for (const { key } of found) this.kept.write(key, null);
    return changes;
  }

  /** Jobs of which pages that are gone left something. */
  async left(): Promise<readonly string[]> {
    return [...new Set((await this.#leftBehind()).map(({ id }) => id))];
  }

  /** Of this job something is left that only a later version of the program can read; it stays where it is. */
  leftByLater(id: string): boolean {
    return this.kept.keys(`${id}/`).some((key) => this.kept.isOfLater(key));
  }

  /** What cannot be read is not among it, and not taken away: another version may know better. */
  async #leftBehind(): Promise<{ readonly key: string; readonly id: string; readonly changes: Changes }[]> {
    const alive = await this.#others.alive();
    return this.kept.keys("").flatMap((key) => {
      const [, id = "", page = ""] = /^([a-z0-9-]+)\/([a-z0-9]+)$/.exec(key) ?? [];
      const changes = id === "" || page === this.#page || alive.has(page) ? null : this.kept.read(key);
      return changes === null ? [] : [{ key, id, changes }];
    });
  }
}
