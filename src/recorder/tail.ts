/** The last bytes of a growing file, found by their offset in it: what is not yet surely on disk. */
export class ByteTail {
  #from = 0;
  #to = 0;
  #pieces: Uint8Array[] = [];

  /** Offset of the first byte that is still kept. */
  get from(): number {
    return this.#from;
  }

  /** Offset after the last byte. */
  get to(): number {
    return this.#to;
  }

  push(bytes: Uint8Array): void {
    if (bytes.length === 0) return;
    this.#pieces.push(bytes);
    this.#to += bytes.length;
  }

  /** Forgets whole pieces that lie before `offset`; one that only begins before it stays. */
  dropBefore(offset: number): void {
    let drop = 0;
    for (const piece of this.#pieces) {
      if (this.#from + piece.length > offset) break;
      this.#from += piece.length;
      drop += 1;
    }
    if (drop > 0) this.#pieces.splice(0, drop);
  }

  /** The kept bytes from `offset` on, in order. */
  *since(offset: number): Generator<Uint8Array> {
    let first = this.#pieces.length;
    let at = this.#to;
    while (first > 0 && at > offset) {
      first -= 1;
      at -= this.#pieces[first]?.length ?? 0;
    }
    // A copy of the list, because pieces may be dropped while a caller writes them.
    for (const piece of this.#pieces.slice(first)) {
      yield offset > at ? piece.subarray(offset - at) : piece;
      at += piece.length;
    }
  }
}
