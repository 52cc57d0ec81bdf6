import { pause, type Clock } from "../../../../shared/clock.ts";
import { referencesSchema } from "../../../../shared/found.ts";
import { toldAt } from "../app/leave.ts";
import type { LookedAt, Reference } from "../../../sheet/shelf/references.ts";

/** While indexes are made, it is asked again so often. */
const againMs = 1500;

/** Sound recordings of the same kind of vehicle as one that is looked at. None where the page may not ask. */
export class References {
  readonly #place: string;
  readonly #clock: Clock;
  #list: readonly Reference[] = $state.raw([]);
  #stopped = false;

  constructor(place: string, clock: Clock) {
    this.#place = place;
    this.#clock = clock;
  }

  /** Those of the same vehicle, and those of the same engine, where there are any. */
  get groups(): readonly (readonly Reference[])[] {
    return (["vehicle", "engine"] as const)
      .map((same) => this.#list.filter((one) => one.same === same))
      .filter((group) => group.length > 0);
  }

  stop(): void {
    this.#stopped = true;
  }

  async ask(of: LookedAt): Promise<void> {
    let again = "";
    while (!this.#stopped) {
      const told = await toldAt(
        `${this.#place}?of=${encodeURIComponent(JSON.stringify(of))}${again}`,
        referencesSchema,
      );
      // Not there: the list of all recordings is as good.
      if (told === null) return;
      this.#list = told.references;
      if (told.making === 0) return;
      again = "&again";
      await pause(this.#clock, againMs);
    }
  }
}
