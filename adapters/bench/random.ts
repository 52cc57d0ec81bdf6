import { seeded } from "../../shared/seeded.ts";

/** Chance of a bench vehicle, so that a run is fixed by its seed. */
export class Random {
  /** Uniform in [0, 1). */
  readonly next: () => number;

  constructor(seed: number) {
    this.next = seeded(seed);
  }

  /** About normal, mean 0, standard deviation 1: four uniforms added, so never beyond 3.5. */
  normal(): number {
    return (this.next() + this.next() + this.next() + this.next() - 2) * 1.7320508;
  }
}

/** A number in [0, 1) fixed by two integers: noise on a reading that must not depend on who read before. */
export function hashed(a: number, b: number): number {
  return seeded(Math.imul(a, 0x9e3779b1) ^ Math.imul(b + 1, 0x85ebca6b))();
}
