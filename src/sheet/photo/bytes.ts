/** Small things that the picture formats share. */
import { CranksideError } from "../../../shared/errors.ts";

export function latin(bytes: Uint8Array, at: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(at, at + length));
}

export function wrong(expected: string, found: string): CranksideError {
  return new CranksideError("photo-invalid", "photo rejected", { expected, found });
}

/** Pieces in one. */
export function joined(pieces: readonly Uint8Array[]): Uint8Array {
  const out = new Uint8Array(pieces.reduce((sum, p) => sum + p.length, 0));
  let at = 0;
  for (const piece of pieces) {
    out.set(piece, at);
    at += piece.length;
  }
  return out;
}

export interface Sized {
  readonly width: number;
  readonly height: number;
  readonly bytes: Uint8Array;
}
