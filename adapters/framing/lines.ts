import type { DiscardedPiece, Piece } from "./pieces.ts";

/** A line with its place in the reply. */
export interface PlacedLine {
  readonly at: number;
  readonly raw: string;
}

/** A piece with the place of its first line, by which the pieces of a reply are put in order. */
export interface PlacedPiece {
  readonly at: number;
  readonly piece: Piece;
}

export function discard(
  lines: readonly PlacedLine[],
  reason: string,
): { readonly at: number; readonly piece: DiscardedPiece } {
  return {
    at: lines[0]?.at ?? 0,
    piece: { kind: "discarded", reason, lines: lines.map((line) => line.raw) },
  };
}

/** Lines of a message that did not come whole; `module`: whose it was. */
export function discardUnfinished(
  lines: readonly PlacedLine[],
  reason: string,
  module?: string,
): PlacedPiece {
  const { at, piece } = discard(lines, reason);
  return { at, piece: { ...piece, unfinished: true, ...(module === undefined ? {} : { module }) } };
}

export function message(lines: readonly PlacedLine[], module: string, data: Uint8Array): PlacedPiece {
  return {
    at: lines[0]?.at ?? 0,
    piece: { kind: "message", module, data, lines: lines.map((line) => line.raw) },
  };
}
