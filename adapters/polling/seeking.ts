import {
  askAsItStands,
  protocolGroups,
  tryProtocol,
  type NothingFound,
  type Plan,
  type ProtocolFound,
} from "../dialogue/index.ts";

/** Some adapters repeat UNABLE TO CONNECT for five seconds without trying, counted from the last time they were asked. */
const repeatsForMs = 5500;

/** The vehicle was never heard: a few protocols at a time, so that the voltage is read in between. */
export class Seeking {
  readonly #everyMs: number;
  #group = 0;
  #soughtMs = Number.NEGATIVE_INFINITY;
  #repeated = false;

  constructor(everyMs: number) {
    this.#everyMs = everyMs;
  }

  due(now: number): boolean {
    return now - this.#soughtMs >= (this.#repeated ? Math.max(repeatsForMs, this.#everyMs) : this.#everyMs);
  }

  sought(now: number): void {
    this.#soughtMs = now;
  }

  /** The next few; null when none of them was answered. */
  *plan(): Plan<ProtocolFound | null> {
    const group = protocolGroups[this.#group % protocolGroups.length] ?? [];
    this.#repeated = false;
    let unchosen = true;
    for (const protocol of group) {
      const found: ProtocolFound | NothingFound = yield* tryProtocol(protocol, new Set());
      if (found.protocol !== null) return found;
      unchosen &&= found.unchosen === true;
      if (found.repeated === true) {
        // The same group again, once it tries again.
        this.#repeated = true;
        return null;
      }
    }
    this.#group += 1;
    const asked = unchosen ? yield* askAsItStands() : null;
    return asked === null || asked.protocol === null ? null : asked;
  }
}
