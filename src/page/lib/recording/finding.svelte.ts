import { pause, type Clock } from "../../../../shared/clock.ts";
import { foundSchema, type FoundList } from "../../../../shared/found.ts";
import type { Failure } from "../../../../shared/messages.ts";
import { failureOf } from "../app/failure.ts";

/** While indexes are made, it is looked again so often. */
const againMs = 1500;
/** A word is being typed. */
const typingMs = 150;

/** Looking through recordings and jobs: what was asked last is what is shown. */
export class Finding {
  readonly #place: string;
  readonly #clock: Clock;
  #list: FoundList | null = $state.raw(null);
  #failure: Failure | null = $state.raw(null);
  #asked = 0;
  #words = $state("");

  constructor(place: string, clock: Clock) {
    this.#place = place;
    this.#clock = clock;
  }

  get words(): string {
    return this.#words;
  }

  /** Null while nothing is asked. */
  get list(): FoundList | null {
    return this.#list;
  }

  get failure(): Failure | null {
    return this.#failure;
  }

  set words(words: string) {
    this.#words = words;
    this.#asked += 1;
    this.#failure = null;
    if (words.trim() === "") this.#list = null;
    else void this.#ask(this.#asked);
  }

  /** Nobody looks any more. */
  stop(): void {
    this.#asked += 1;
  }

  async #ask(number: number): Promise<void> {
    await pause(this.#clock, typingMs);
    while (number === this.#asked) {
      try {
        const url = `${this.#place}?words=${encodeURIComponent(this.#words)}`;
        const response = await fetch(url, { cache: "no-store" });
        const told: unknown = await response.json();
        const list = foundSchema.parse(told);
        if (number !== this.#asked) return;
        this.#list = list;
        if (list.making === 0) return;
      } catch (error) {
        if (number === this.#asked) this.#failure = failureOf(error);
        return;
      }
      await pause(this.#clock, againMs);
    }
  }
}
