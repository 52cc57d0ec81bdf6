import { seeded } from "../../shared/seeded.ts";

/** A number in [0, 1) fixed by two integers. */
export function hashed(a: number, b: number): number {
  return seeded((Math.imul(a, 0x9e3779b1) ^ Math.imul(b + 1, 0x85ebca6b)) >>> 0)();
}
