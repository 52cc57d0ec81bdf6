/** Marks and facts that are added behind the end of finished recordings, apart from everything live. */
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { PageRequest, Role } from "../../shared/messages.ts";
import type { FactsEvent, MarkEvent } from "../../shared/recording/format.ts";
import { addToRecording } from "../recorder/add.ts";
import { recordingPath, type Folders } from "./folders.ts";
import { given } from "./given.ts";
import { mostGuestAdditions } from "./limits.ts";

/** Makes the event for its place in time, milliseconds since the recording's start. */
export type AdditionMaker = (t: number) => MarkEvent | FactsEvent;

export function eventOf(request: Extract<PageRequest, { type: "mark" | "facts" }>): AdditionMaker {
  return (t) =>
    request.type === "mark"
      ? { k: "mark", t, ...given(request.mark) }
      : { k: "facts", t, facts: request.facts };
}

interface Batch {
  readonly events: { readonly make: AdditionMaker; readonly wallMs: number }[];
  readonly done: Promise<void>;
}

export class Additions {
  readonly #folders: () => Folders;
  readonly #clock: Clock;
  /** What waits for the addition that is under way, by path. */
  readonly #waiting = new Map<string, Batch>();
  readonly #underWay = new Map<string, Promise<void>>();

  constructor(folders: () => Folders, clock: Clock) {
    this.#folders = folders;
    this.#clock = clock;
  }

  /**
   * Rejects as `addToRecording` does. Each addition reads its whole file: those that come meanwhile are added together.
   * A device of the network may let only so many wait; beyond that it is `too-much`.
   */
  async add(file: string, make: AdditionMaker, role: Role): Promise<void> {
    const { path, bundled } = recordingPath(this.#folders(), file);
    if (bundled) {
      throw new CranksideError("file-unwritable", "the samples that ship with the program are not added to", {
        found: file,
      });
    }
    const event = { make, wallMs: this.#clock.wall() };
    const waiting = this.#waiting.get(path);
    if (waiting === undefined) return this.#begin(path, event);
    if (role !== "full" && waiting.events.length >= mostGuestAdditions)
      throw new CranksideError("too-much", "more additions to one recording than are taken", { found: file });
    waiting.events.push(event);
    return waiting.done;
  }

  #begin(path: string, first: Batch["events"][number]): Promise<void> {
    const before = this.#underWay.get(path);
    const events = [first];
    const write = async (): Promise<void> => {
      await before?.catch(() => undefined);
      this.#waiting.delete(path);
      const make = (startedMs: number): (MarkEvent | FactsEvent)[] =>
        events.map(({ make: one, wallMs }) => one(Math.max(0, wallMs - startedMs)));
      await addToRecording(path, make, { wallMs: this.#clock.wall() });
    };
    const done = write();
    if (before !== undefined) this.#waiting.set(path, { events, done });
    this.#underWay.set(path, done);
    const forget = (): void => {
      if (this.#underWay.get(path) === done) this.#underWay.delete(path);
    };
    done.then(forget, forget);
    return done;
  }
}
