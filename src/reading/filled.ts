/**
 * Which modules fill their CAN frames up to eight bytes, as ISO 15765-4 has it (from memory), on an adapter that shows it.
 * From such a module a shorter frame has lost bytes on the way, and another may stand in the place of one that was meant.
 */

/** Filled frames before a short one is doubted, and how many of them to one short. */
const enough = 8;
const usual = 20;

export class FilledFrames {
  readonly #filled = new Map<string, number>();
  readonly #short = new Map<string, number>();

  /** False for a message in a short frame from a module that fills its frames. */
  fits(module: string, isShort: boolean): boolean {
    if (!isShort) return true;
    const filled = this.#filled.get(module) ?? 0;
    return filled < enough || ((this.#short.get(module) ?? 0) + 1) * usual > filled;
  }

  see(module: string, isShort: boolean): void {
    const counts = isShort ? this.#short : this.#filled;
    counts.set(module, (counts.get(module) ?? 0) + 1);
  }
}

/** A CAN frame of fewer than eight bytes, by its digits, headers on. */
export function isShortFrame(line: string, idBits: number): boolean {
  let digits = 0;
  for (let i = 0; i < line.length; i++) if (line.charCodeAt(i) > 0x20) digits += 1;
  return digits < (idBits === 11 ? 3 : 8) + 16;
}
