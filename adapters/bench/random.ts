/**
 * A small seeded generator, so that a run is fixed by its seed. Algorithm: mulberry32 (public domain), from memory.
 */
export class Random {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  /** Uniform in [0, 1). */
  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let t = this.#state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  }

  /** About normal, mean 0, standard deviation 1: four uniforms added, so never beyond 3.5. */
  normal(): number {
    return (this.next() + this.next() + this.next() + this.next() - 2) * 1.7320508;
  }
}

/** A number in [0, 1) fixed by two integers: noise on a reading that must not depend on who read before. */
export function hashed(a: number, b: number): number {
  return new Random(Math.imul(a, 0x9e3779b1) ^ Math.imul(b + 1, 0x85ebca6b)).next();
}
