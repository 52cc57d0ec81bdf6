import { protocolGroups, tryProtocol, type Plan, type ProtocolFound } from "../dialogue/index.ts";

/** The vehicle was never heard: a few protocols at a time, so that the voltage is read in between. */
export class Seeking {
  readonly #everyMs: number;
  #group = 0;
  #soughtMs = Number.NEGATIVE_INFINITY;

  constructor(everyMs: number) {
    this.#everyMs = everyMs;
  }

  due(now: number): boolean {
    return now - this.#soughtMs >= this.#everyMs;
  }

  sought(now: number): void {
    this.#soughtMs = now;
  }

  /** The next few; null when none of them was answered. */
  *plan(): Plan<ProtocolFound | null> {
    const group = protocolGroups[this.#group % protocolGroups.length] ?? [];
    this.#group += 1;
    for (const protocol of group) {
      const found = yield* tryProtocol(protocol, new Set());
      if (found.protocol !== null) return found;
    }
    return null;
  }
}
