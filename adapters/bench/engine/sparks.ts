import type { Damage } from "../damage.ts";

/** Coils and spark plugs, which can change their cylinders. */
export class Sparks {
  /** Which cylinder's coil stands on each, and whose plug is in it; cylinders from 0. */
  readonly coilAt: Uint8Array;
  readonly plugAt: Uint8Array;
  /** Per position in the firing order: what the coil gave at the last firing centre, as a share of a full spark. */
  readonly given: Float64Array;

  constructor(cylinders: number) {
    this.coilAt = Uint8Array.from({ length: cylinders }, (_, i) => i);
    this.plugAt = this.coilAt.slice();
    this.given = new Float64Array(cylinders);
  }

  /** Share of a full spark that the cylinder's coil gives, fully fed. */
  coil(damage: Damage, cylinder: number): number {
    return damage.coil[this.coilAt[cylinder] ?? cylinder] ?? 1;
  }

  /** Share of it that jumps inside the cylinder. */
  plug(damage: Damage, cylinder: number): number {
    return damage.plug[this.plugAt[cylinder] ?? cylinder] ?? 1;
  }
}
