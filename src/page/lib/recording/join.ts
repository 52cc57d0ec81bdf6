/**
 * Joins the pieces of one growing file that come over two ways, by HTTP and over the socket: each
 * byte is taken once and in order, whatever overlaps.
 */
export class ByteJoin {
  #offset: number;

  /** `offset`: so many bytes were taken elsewhere. */
  constructor(offset = 0) {
    this.#offset = offset;
  }

  /** How many bytes of the file were taken. */
  get offset(): number {
    return this.#offset;
  }

  /**
   * What is new of these bytes, which stand at `from` in the file; empty when all of it was taken before.
   * Null when bytes before `from` are missing: then nothing is taken.
   */
  take(from: number, bytes: Uint8Array): Uint8Array | null {
    if (from > this.#offset) return null;
    const fresh = bytes.subarray(this.#offset - from);
    this.#offset += fresh.length;
    return fresh;
  }
}
