import type { Piece } from "../../adapters/framing/index.ts";

/** Bytes from hexadecimal text, spaces allowed. */
export function bytes(hex: string): Uint8Array {
  return Uint8Array.from(Buffer.from(hex.replace(/\s+/g, ""), "hex"));
}

/** "410C1AF8" */
export function hexOf(data: Uint8Array): string {
  return Buffer.from(data).toString("hex").toUpperCase();
}

/** A reply in short: "7E8 410C1213", "= NO DATA", "discarded". */
export function short(pieces: readonly Piece[]): string[] {
  return pieces.map((piece) => {
    if (piece.kind === "message") return `${piece.module} ${hexOf(piece.data)}`.trim();
    return piece.kind === "status" ? `= ${piece.word}` : "discarded";
  });
}

/** Messages only, in short. */
export function messagesOf(pieces: readonly Piece[]): string[] {
  return short(pieces.filter((piece) => piece.kind === "message"));
}

/** Reasons of what was discarded. */
export function reasonsOf(pieces: readonly Piece[]): string[] {
  return pieces.flatMap((piece) => (piece.kind === "discarded" ? [piece.reason] : []));
}
