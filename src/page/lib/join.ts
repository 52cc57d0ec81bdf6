/**
 * Joins the pieces of one growing file that come over two ways, by HTTP and over the socket, into its text: each
 * byte is taken once and in order, whatever overlaps.
 */
export class ByteJoin {
  #offset = 0;
  readonly #decoder = new TextDecoder("utf-8", { ignoreBOM: true });

  /** How many bytes of the file were taken. */
  get offset(): number {
    return this.#offset;
  }

  /**
   * Text that is new in these bytes, which stand at `from` in the file; empty when all of it was taken before.
   * Null when bytes before `from` are missing: then nothing is taken.
   */
  take(from: number, bytes: Uint8Array): string | null {
    if (from > this.#offset) return null;
    const known = this.#offset - from;
    if (known >= bytes.length) return "";
    const fresh = bytes.subarray(known);
    this.#offset += fresh.length;
    return this.#decoder.decode(fresh, { stream: true });
  }
}
