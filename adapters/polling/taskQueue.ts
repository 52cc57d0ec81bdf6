import { messageOf } from "../../shared/errors.ts";

/** What is done between two polls, in the order of being asked for. Whoever asked hears of what fails. */
export class TaskQueue {
  readonly #waiting: (() => Promise<void>)[] = [];

  add<Result>(work: () => Promise<Result>): Promise<Result> {
    return new Promise((resolve, reject) => {
      this.#waiting.push(async () => {
        try {
          resolve(await work());
        } catch (error) {
          // A lost line is seen by the session itself at its next turn.
          reject(error instanceof Error ? error : new Error(messageOf(error)));
        }
      });
    });
  }

  next(): (() => Promise<void>) | undefined {
    return this.#waiting.shift();
  }

  /** Runs all that wait; for the end, when each is rejected by its own first step. */
  async settle(): Promise<void> {
    await Promise.all(this.#waiting.splice(0).map((job) => job()));
  }
}
