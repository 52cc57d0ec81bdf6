/** What a reply is made of. Every line that came is in exactly one piece, so nothing vanishes. */
export type Piece = MessagePiece | StatusPiece | DiscardedPiece;

/** One module's whole answer with the transport taken off: service byte first, `41 0C 1A F8`. */
export interface MessagePiece {
  readonly kind: "message";
  /** Source address as the bus gives it: `7E8` (CAN 11 bit), `10` (all others, two hexadecimal digits). */
  readonly module: string;
  readonly data: Uint8Array;
  /**
   * The length that its one frame announced, where that is more than a frame holds: what came is in `data`, and the rest
   * of it did not come.
   */
  readonly claims?: number;
  /** Raw lines it was read from, in order. */
  readonly lines: readonly string[];
}

/** A word of the adapter that is not data: `SEARCHING...`, `NO DATA`. */
export interface StatusPiece {
  readonly kind: "status";
  readonly word: string;
  readonly lines: readonly string[];
}

export interface DiscardedPiece {
  readonly kind: "discarded";
  /** Why, in words: "checksum 3F, expected E3". */
  readonly reason: string;
  /** Part of a longer message is missing: asking again may help. */
  readonly unfinished?: true;
  /** Whose message it was, where that is known. */
  readonly module?: string;
  readonly lines: readonly string[];
}
