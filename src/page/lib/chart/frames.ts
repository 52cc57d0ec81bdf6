/**
 * One animation frame for all: first the state is brought up to date, then what follows from it is computed, then
 * the canvases are drawn, so that a reading reaches the screen in the frame after it came and is drawn once.
 */
export class Frames {
  #updates = new Set<() => void>();
  #draws = new Map<object, () => void>();
  #requested = 0;
  #running = false;
  readonly #flush: () => void;

  /** `flush` brings everything derived from the state up to date at once. */
  constructor(flush: () => void) {
    this.#flush = flush;
  }

  /** Calls back once in the next frame, however often it is asked for before. */
  update(callback: () => void): void {
    this.#updates.add(callback);
    this.#request();
  }

  /** Draws once in this frame or the next; a later draw for the same key replaces an earlier one. */
  draw(key: object, callback: () => void): void {
    this.#draws.set(key, callback);
    if (!this.#running) this.#request();
  }

  /** Forgets what was to be drawn for this key. */
  drop(key: object): void {
    this.#draws.delete(key);
  }

  #request(): void {
    if (this.#requested === 0) this.#requested = requestAnimationFrame(() => this.#frame());
  }

  #frame(): void {
    this.#requested = 0;
    this.#running = true;
    try {
      const updates = this.#updates;
      this.#updates = new Set();
      for (const update of updates) update();
      this.#flush();
      const draws = this.#draws;
      this.#draws = new Map();
      for (const draw of draws.values()) draw();
    } finally {
      this.#running = false;
    }
  }
}
