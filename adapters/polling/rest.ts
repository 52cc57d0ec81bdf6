import type { Clock } from "../../shared/clock.ts";
import type { CranksideError } from "../../shared/errors.ts";

interface Act {
  readonly run: () => void;
  readonly resolve: () => void;
  readonly reject: (error: CranksideError) => void;
}

/**
 * The moments between exchanges: what others want done then, waits that end early when there is something to do,
 * and the end that lets go of everybody who waits.
 */
export class Rest {
  readonly #clock: Clock;
  #acts: Act[] = [];
  #wake: (() => void) | null = null;
  #ended: CranksideError | null = null;
  readonly #abandon = new Set<(error: CranksideError) => void>();

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  /** Runs at the next moment between two exchanges; rejects when the end comes first. */
  act(run: () => void): Promise<void> {
    const done = new Promise<void>((resolve, reject) => {
      if (this.#ended !== null) reject(this.#ended);
      else this.#acts.push({ run, resolve, reject });
    });
    // Whoever does not wait for it learns of the end otherwise.
    done.catch(() => undefined);
    this.nudge();
    return done;
  }

  runActs(): void {
    const acts = this.#acts;
    this.#acts = [];
    for (const act of acts) {
      act.run();
      act.resolve();
    }
  }

  /** Ends the wait that is running, if any. */
  nudge(): void {
    this.#wake?.();
  }

  /** Waits; null is until nudged. Returns at once when something is to be done. */
  sleep(ms: number | null): Promise<void> {
    if (this.#acts.length > 0 || this.#ended !== null) return Promise.resolve();
    return new Promise((resolve) => {
      const wake = (): void => {
        cancel();
        this.#wake = null;
        resolve();
      };
      const cancel = ms === null ? (): void => undefined : this.#clock.after(ms, wake);
      this.#wake = wake;
    });
  }

  /** Waits the whole time, unless the end comes; acts are run meanwhile. */
  async sleepFully(ms: number): Promise<void> {
    const until = this.#clock.now() + ms;
    for (;;) {
      this.runActs();
      const left = until - this.#clock.now();
      if (left <= 0 || this.#ended !== null) return;
      await this.sleep(left);
    }
  }

  /** The promise, or a rejection when the end comes first; `late` gets what nobody waits for any more. */
  orEnd<T>(promise: Promise<T>, late: (value: T) => void): Promise<T> {
    return new Promise((resolve, reject) => {
      if (this.#ended !== null) reject(this.#ended);
      this.#abandon.add(reject);
      promise.then(
        (value) => {
          this.#abandon.delete(reject);
          if (this.#ended === null) resolve(value);
          else late(value);
        },
        (error: unknown) => {
          this.#abandon.delete(reject);
          reject(error instanceof Error ? error : new Error(String(error)));
        },
      );
    });
  }

  end(error: CranksideError): void {
    if (this.#ended !== null) return;
    this.#ended = error;
    for (const { reject } of this.#acts.splice(0)) reject(error);
    for (const reject of this.#abandon) reject(error);
    this.#abandon.clear();
    this.nudge();
  }
}
