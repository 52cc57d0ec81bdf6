/** The way back to an adapter that fell silent, and to a line that went away. */
import type { Clock } from "../../shared/clock.ts";
import { isCranksideError, type CranksideError } from "../../shared/errors.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { AdapterLine } from "./line.ts";
import type { SessionWaits } from "./options.ts";
import type { Rest } from "./rest.ts";

/** An adapter that may have changed its rate is looked for this long before the link counts as lost. */
const findMs = 1500;

export interface RecoveryParts {
  readonly line: AdapterLine;
  readonly rest: Rest;
  readonly clock: Clock;
  readonly waits: SessionWaits;
  readonly protocol: () => ProtocolId | null;
  readonly closing: () => boolean;
}

export class Recovery {
  readonly #parts: RecoveryParts;

  constructor(parts: RecoveryParts) {
    this.#parts = parts;
  }

  /** Looks for the adapter at its own rate and at the faster one; true when it is there. */
  async find(): Promise<boolean> {
    const { line, rest, clock } = this.#parts;
    const until = clock.now() + findMs;
    while (clock.now() < until && !this.#parts.closing()) {
      rest.runActs();
      if (await line.hail()) return true;
    }
    return false;
  }

  /** Calls on the same line for a while; true when the adapter answers and is set up as it was. */
  async call(): Promise<boolean> {
    const { line, rest, clock, waits } = this.#parts;
    const until = clock.now() + waits.sameLineMs;
    while (clock.now() < until) {
      rest.runActs();
      if ((await line.hail()) && (await line.putBack(this.#parts.protocol()))) return true;
      await rest.sleepFully(2 * waits.voltsPaceMs);
    }
    return false;
  }

  /**
   * Opens the line again and again, at growing distances, until it is set up as it was; false when the session ends
   * first. Rejects with what is no matter of the line.
   */
  async reopen(setUp: () => Promise<void>, failed: (why: CranksideError) => void): Promise<boolean> {
    const { line, rest, waits } = this.#parts;
    for (let wait = waits.reopenFirstMs; ; wait = Math.min(2 * wait, waits.reopenMostMs)) {
      await rest.sleepFully(wait);
      if (this.#parts.closing()) return false;
      try {
        await line.connect();
        await setUp();
        const protocol = this.#parts.protocol();
        if (protocol !== null) await line.chooseProtocol(protocol);
        return true;
      } catch (error) {
        if (this.#parts.closing()) return false;
        await line.close();
        if (!isCranksideError(error)) throw error;
        line.forgetBaud(error);
        failed(error);
      }
    }
  }
}
