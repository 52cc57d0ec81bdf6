/** Trouble codes of one module, as two-byte numbers (0x0335 is P0335), with their maturing. */
export class Codes {
  readonly pending = new Set<number>();
  readonly stored = new Set<number>();
  /** Told when the first code is stored: time for a freeze frame. */
  onFirst: (code: number) => void = () => undefined;
  readonly #seconds = new Map<number, number>();

  get lamp(): boolean {
    return this.stored.size > 0;
  }

  /**
   * Tells that a condition was looked at for `dt` seconds: `bad` adds to the code's time, good takes it away.
   * After `matureS` the code is pending, after four times as long it is stored (two-trip logic within a visit is
   * shortened so; common practice for circuit codes, a simplification for mixture codes).
   */
  judge(code: number, bad: boolean, dt: number, matureS: number): void {
    const had = this.#seconds.get(code) ?? 0;
    if (!bad && had === 0) return;
    const now = Math.max(0, had + (bad ? dt : -dt / 2));
    this.#seconds.set(code, now);
    if (now >= matureS) this.pending.add(code);
    if (now >= 4 * matureS) this.store(code);
  }

  /** First time pending, second time stored. */
  seen(code: number): void {
    if (this.pending.has(code)) this.store(code);
    this.pending.add(code);
  }

  store(code: number): void {
    if (this.stored.has(code)) return;
    this.pending.add(code);
    this.stored.add(code);
    if (this.stored.size === 1) this.onFirst(code);
  }

  clear(): void {
    this.pending.clear();
    this.stored.clear();
    this.#seconds.clear();
  }
}
