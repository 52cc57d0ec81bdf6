/** Questions that wait for their answer, by number. Every one is answered once. */
export class Waiting<A> {
  readonly #waiting = new Map<number, (answer: A) => void>();
  #next = 1;

  /** A new question's number, and its answer to come. */
  begin(): { readonly id: number; readonly answer: Promise<A> } {
    const id = this.#next++;
    const answer = new Promise<A>((resolve) => {
      this.#waiting.set(id, resolve);
    });
    return { id, answer };
  }

  /** Does nothing for a number that does not wait. */
  settle(id: number, answer: A): void {
    const resolve = this.#waiting.get(id);
    this.#waiting.delete(id);
    resolve?.(answer);
  }

  settleAll(answer: A): void {
    for (const id of [...this.#waiting.keys()]) this.settle(id, answer);
  }
}
